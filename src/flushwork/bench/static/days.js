// The chart of the days: a step or a day off is dragged, or moved by keys, and the days planned again.

import { answered, ask, failed } from '/static/asked.js';

// narrower than this the days run down
const NARROW_PX = 640;
const find = (name) => document.getElementById(name);

export class Days {
  constructor() {
    const place = find('days');
    place.addEventListener('pointerdown', (event) => this.down(event));
    place.addEventListener('keydown', (event) => this.key(event));
    place.addEventListener('focusin', (event) => this.words(event.target));
    place.addEventListener('pointerover', (event) => { if (!this.drag) this.words(event.target); });
    place.addEventListener('change', (event) => {
      if (event.target.id === 'begins') { const first = event.target.value; this.known(() => this.wish({ first })); }
    });
    place.addEventListener('click', (event) => {
      const act = event.target.closest?.('[data-act]');
      if (act) this.act(act.dataset.act);
      else if (event.target.id === 'as-planned') this.send({ first: '', off: null, held: [] }, 'As the job has it.');
    });
    window.addEventListener('pointermove', (event) => this.move(event));
    window.addEventListener('pointerup', (event) => this.up(event));
    window.addEventListener('pointercancel', () => this.drop());
    /** @type {Told} */
    this.onHold = () => {};
    // other days were wished: what was wished before, and what now
    /** @type {Told} */
    this.onDone = () => {};
    // a sheet that is narrow gets the chart that runs down
    new ResizeObserver(() => this.fit()).observe(place);
  }

  // the page has drawn the job's own days; if other days were wished, those stand in their place
  async take(generation, coarse) {
    this.generation = generation;
    this.wishes = null;
    this.fit();
    if (coarse || !document.querySelector('#days-title')) return;
    const now = await ask(`/doing/${generation}/days`).catch((error) => error);
    if (this.generation !== generation) return;
    if (now instanceof Error) {
      failed('days', `Whether other days were wished is not known, so these are the job's own: ${now.message}`);
      find('days-said').textContent = '';
      this.waits = null;
      return;
    }
    answered('days');
    this.wishes = now.wishes;
    if (now.shown || this.html) this.put(now);
    const { waits } = this;
    this.waits = null;
    waits?.();
  }

  // what was wished before is known a moment after the picture: what is done until then waits, and loses none of it
  known(work) {
    if (this.wishes) { work(); return; }
    this.waits = work;
    find('days-said').textContent = 'In a moment …';
  }

  // a phone gets the chart that runs down: its days one below the other, a column for each piece
  fit() {
    const other = find('days-down'), frame = find('chart-frame');
    const wide = find('days').clientWidth;
    if (!other || !wide || (wide < NARROW_PX) === (this.way === 'down')) return;
    const held = document.createDocumentFragment();
    held.append(...frame.childNodes);
    frame.append(other.content);
    other.content.append(held);
    this.chosen = null;
    this.ready();
  }

  get chart() { return document.querySelector('#chart-frame .chart'); }

  get way() { return this.chart?.dataset.way; }

  get heads() { return [...document.querySelectorAll('#days .day-head')]; }

  get bars() { return [...document.querySelectorAll('#days :is(.step-bar, .wait-bar)')].sort((a, b) => a.dataset.at - b.dataset.at || a.dataset.piece - b.dataset.piece); }

  words(target) {
    const at = target.closest?.('.step-bar, .wait-bar, .day-head'), line = find('chart-words');
    if (line && at) line.textContent = at.getAttribute('aria-label');
    if (at?.contains(document.activeElement)) { this.chosen = at; this.ready(); }
  }

  // the buttons under the chart work on the step or the shut day that was chosen last
  ready() {
    const at = this.chosen, movable = at?.dataset.key || at?.classList.contains('off');
    find('chart-buttons').hidden = !at;
    for (const button of document.querySelectorAll('#chart-acts [data-act]')) {
      const { act } = button.dataset;
      button.disabled = act === 'free' ? !at?.classList.contains('held') : act === 'earlier' || act === 'later' ? !movable : !at;
    }
    for (const each of document.querySelectorAll('#days .chosen')) each.classList.remove('chosen');
    at?.classList.add('chosen');
  }

  act(act) {
    const at = this.chosen;
    if (!at) return;
    const bar = !at.classList.contains('day-head'), all = bar ? this.bars : this.heads;
    if (act === 'hold') this.onHold(at.dataset.key ? `stage/${at.dataset.stage}` : `day/${Number(at.dataset.day) + 1}`);
    else if (act === 'free') this.letGo(at);
    else if (act === 'before' || act === 'after') {
      const next = all[all.indexOf(at) + (act === 'after' ? 1 : -1)];
      if (!next) return;
      this.rove(next);
      this.chosen = next;
      find('chart-words').textContent = next.getAttribute('aria-label');
      this.ready();
      next.scrollIntoView({ block: 'nearest', inline: 'nearest' });
    } else this.byDay(at, act === 'later' ? 1 : -1);
  }

  byDay(at, by) {
    const day = this.heads.find((each) => Number(each.dataset.day) === Number(at.dataset.day) + by);
    if (day && at.classList.contains('off')) this.moveOff(at, day);
    else if (day && at.dataset.key) this.putOff(at, day);
  }

  // on a phone a step may be thinner than a finger: the nearest one of its piece is meant
  nearest(event) {
    const { x, y } = { x: event.clientX, y: event.clientY };
    const off = (bar) => {
      const box = bar.getBoundingClientRect();
      return Math.hypot(Math.max(box.left - x, 0, x - box.right), y - (box.top + box.height / 2));
    };
    const [first] = this.bars.filter((bar) => bar.dataset.key).map((bar) => [off(bar), bar]).sort((a, b) => a[0] - b[0]);
    return first && first[0] < 24 ? first[1] : null;
  }

  // which day lies under a pointer; where the days lay when the drag began
  dayAt(event) {
    const { heads } = this, { edges } = this.drag;
    const at = edges.findIndex((edge) => (this.way === 'down' ? event.clientY : event.clientX) < edge);
    return heads[at < 0 ? heads.length - 1 : at];
  }

  down(event) {
    const down = this.way === 'down', touch = event.pointerType === 'touch';
    const at = event.target.closest?.('.day-head') ?? (touch && event.target.closest?.('.chart') ? this.nearest(event) : event.target.closest?.('.step-bar, .wait-bar'));
    if (!at || event.button) return;
    const edges = this.heads.map((head) => head.getBoundingClientRect()).map((box) => (down ? box.bottom : box.right) + 1);
    this.drag = { at, x: event.clientX, y: event.clientY, touch, still: touch && down, moved: false, edges };
    if (this.drag.still) return;
    this.rove(at);
    at.focus({ preventScroll: true });
    if (!this.drag.touch) event.preventDefault();
  }

  move(event) {
    const { drag } = this;
    if (!drag || drag.still || drag.at.matches('.wait-bar')) return;
    const { chart } = this, by = this.way === 'down' ? event.clientY - drag.y : event.clientX - drag.x;
    if (Math.abs(by) < 5 && !drag.moved) return;
    drag.moved = true;
    const along = by * chart.viewBox.baseVal.width / chart.getBoundingClientRect().width;
    drag.at.setAttribute('transform', this.way === 'down' ? `translate(0 ${along})` : `translate(${along} 0)`);
    drag.at.classList.add('dragged');
    const over = this.dayAt(event);
    for (const head of this.heads) head.classList.toggle('target', head === over);
    find('chart-words').textContent = `To ${over.getAttribute('aria-label')}`;
  }

  drop() {
    if (!this.drag) return;
    this.drag.at.removeAttribute('transform');
    this.drag.at.classList.remove('dragged');
    for (const head of this.heads) head.classList.remove('target');
    this.drag = null;
  }

  up(event) {
    const { drag } = this;
    if (!drag) return;
    const over = this.dayAt(event);
    this.drop();
    if (drag.still) {
      if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > 12) return;
      this.rove(drag.at);
      drag.at.focus({ preventScroll: true });
    }
    if (drag.at.classList.contains('day-head')) {
      if (!drag.moved) this.toggle(drag.at);
      else if (drag.at.classList.contains('off')) this.moveOff(drag.at, over);
      else this.toggle(over);
    } else if (drag.moved) this.putOff(drag.at, over);
  }

  rove(at) {
    const kind = at.classList.contains('day-head') ? '.day-head' : ':is(.step-bar, .wait-bar)';
    for (const each of document.querySelectorAll(`#days ${kind}`)) each.setAttribute('tabindex', each === at ? '0' : '-1');
  }

  key(event) {
    const at = event.target.closest?.('.step-bar, .wait-bar, .day-head');
    if (!at || event.ctrlKey || event.altKey || event.metaKey) return;
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key], head = at.classList.contains('day-head');
    const all = head ? this.heads : this.bars;
    if (by && event.shiftKey) this.byDay(at, by);
    else if (by) {
      const next = all[all.indexOf(at) + by];
      if (next) { this.rove(next); next.focus({ preventScroll: true }); next.scrollIntoView({ block: 'nearest', inline: 'nearest' }); }
    } else if (head && (event.key === 'Enter' || event.key === ' ')) this.toggle(at);
    else if (!head && (event.key === 'Delete' || event.key === 'Backspace')) this.letGo(at);
    else return;
    event.preventDefault();
  }

  get off() { return this.wishes.off ?? this.heads.filter((head) => head.classList.contains('off')).map((head) => head.dataset.date); }

  toggle(head) {
    this.known(() => {
      const { date } = head.dataset, { off } = this;
      const shut = off.includes(date);
      this.wish({ off: shut ? off.filter((each) => each !== date) : [...off, date] }, head);
    });
  }

  moveOff(head, over) {
    if (head === over) return;
    this.known(() => this.wish({ off: [...this.off.filter((each) => each !== head.dataset.date), over.dataset.date] }, over));
  }

  putOff(bar, over) {
    // what cures or dries is moved by its step
    if (!bar.dataset.key) return;
    const { key, piece } = bar.dataset;
    this.known(() => {
      const rest = this.wishes.held.filter(([stage, each]) => stage !== key || each !== Number(piece));
      this.wish({ held: [...rest, [key, Number(piece), over.dataset.date]] }, bar);
    });
  }

  letGo(bar) {
    if (!bar.dataset.key) return;
    const { key, piece } = bar.dataset;
    this.known(() => this.wish({ held: this.wishes.held.filter(([stage, each]) => stage !== key || each !== Number(piece)) }, bar));
  }

  wish(change, at) {
    this.again = at ? { key: at.dataset.key, piece: at.dataset.piece, date: at.dataset.date } : null;
    this.send({ ...this.wishes, ...change });
  }

  // quietly where what was done is taken back, or done again
  async send(wishes, done, quietly = false) {
    this.wanted = { wishes, done, quietly };
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.wanted) {
        const { wishes: body, done: words, quietly: known } = this.wanted, before = this.wishes;
        this.wanted = null;
        find('days-said').textContent = 'Planning the days again …';
        const answer = await fetch(`/doing/${this.generation}/days`, {
          method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body),
        });
        const now = await answer.json();
        if (!answer.ok) { find('days-said').textContent = now.error; continue; }
        this.wishes = now.wishes;
        if (!known && before) this.onDone(before, now.wishes);
        this.put(now);
        find('days-said').textContent = words ?? (now.wished ? `So it is ${now.now}; as the job has it, ${now.before}.` : 'As the job has it.');
      }
    } catch { find('days-said').textContent = 'The bench does not answer.'; } finally { this.asking = false; }
  }

  // what is ticked, here or on a phone, is planned from
  ticked() { if (!this.asking && this.generation) this.take(this.generation, false); }

  put(now) {
    // the same days are not drawn again: whoever is at the chart keeps the place
    if (this.html === now.html && find('days').firstElementChild === this.top && !this.again) return;
    find('days').innerHTML = this.html = now.html;
    this.top = find('days').firstElementChild;
    this.chosen = null;
    this.fit();
    if (!this.again) return;
    const { key, piece, date } = this.again;
    const at = date ? this.heads.find((head) => head.dataset.date === date) : this.bars.find((bar) => bar.dataset.key === key && bar.dataset.piece === piece);
    if (at) { this.rove(at); this.chosen = at; at.focus({ preventScroll: true }); this.ready(); }
    this.again = null;
  }
}
