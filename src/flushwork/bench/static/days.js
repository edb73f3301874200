// The chart of the days: a step or a day off is dragged, or moved by keys, and the days planned anew.

const find = (name) => document.getElementById(name);

export class Days {
  constructor() {
    const place = find('days');
    place.addEventListener('pointerdown', (event) => this.down(event));
    place.addEventListener('keydown', (event) => this.key(event));
    place.addEventListener('focusin', (event) => this.words(event.target));
    place.addEventListener('pointerover', (event) => { if (!this.drag) this.words(event.target); });
    place.addEventListener('change', (event) => {
      if (event.target.id === 'begins') this.wish({ first: event.target.value });
    });
    place.addEventListener('click', (event) => {
      if (event.target.id === 'as-planned') this.send({ first: '', off: null, held: [] }, 'As the job has it.');
    });
    window.addEventListener('pointermove', (event) => this.move(event));
    window.addEventListener('pointerup', (event) => this.up(event));
    window.addEventListener('pointercancel', () => this.drop());
  }

  // the page has drawn the job's own days; if other days were wished, those stand in their place
  async take(generation, coarse) {
    this.generation = generation;
    this.wishes = { first: '', off: null, held: [] };
    if (coarse || !document.querySelector('#days .chart')) return;
    const answer = await fetch(`/doing/${generation}/days`).catch(() => null);
    if (answer?.ok) {
      const now = await answer.json();
      this.wishes = now.wishes;
      if (now.wished) this.put(now);
    }
  }

  get heads() { return [...document.querySelectorAll('#days .day-head')]; }

  get bars() { return [...document.querySelectorAll('#days .step-bar')].sort((a, b) => this.left(a) - this.left(b)); }

  left(bar) { return Number(bar.querySelector('rect').getAttribute('x')); }

  words(target) {
    const at = target.closest?.('.step-bar, .day-head'), line = find('chart-words');
    if (line && at) line.textContent = at.getAttribute('aria-label');
  }

  // which day lies under a pointer; where the days lay when the drag began
  dayAt(x) {
    const { heads } = this, { edges } = this.drag;
    const at = edges.findIndex((edge) => x < edge);
    return heads[at < 0 ? heads.length - 1 : at];
  }

  down(event) {
    const at = event.target.closest?.('.step-bar, .day-head');
    if (!at || event.button) return;
    this.drag = { at, x: event.clientX, touch: event.pointerType === 'touch', moved: false, edges: this.heads.map((head) => head.getBoundingClientRect().right + 1) };
    this.rove(at);
    at.focus({ preventScroll: true });
    if (!this.drag.touch) event.preventDefault();
  }

  move(event) {
    const { drag } = this;
    if (!drag || Math.abs(event.clientX - drag.x) < 5 && !drag.moved) return;
    drag.moved = true;
    const scale = document.querySelector('#days .chart').getBoundingClientRect().width / 1000;
    drag.at.setAttribute('transform', `translate(${(event.clientX - drag.x) / scale} 0)`);
    drag.at.classList.add('dragged');
    const over = this.dayAt(event.clientX);
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
    const over = this.dayAt(event.clientX);
    this.drop();
    if (drag.at.classList.contains('day-head')) {
      if (!drag.moved) this.toggle(drag.at);
      else if (drag.at.classList.contains('off')) this.moveOff(drag.at, over);
      else this.toggle(over);
    } else if (drag.moved) this.putOff(drag.at, over);
  }

  rove(at) {
    const kind = at.classList.contains('day-head') ? '.day-head' : '.step-bar';
    for (const each of document.querySelectorAll(`#days ${kind}`)) each.setAttribute('tabindex', each === at ? '0' : '-1');
  }

  key(event) {
    const at = event.target.closest?.('.step-bar, .day-head');
    if (!at || event.ctrlKey || event.altKey || event.metaKey) return;
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key], head = at.classList.contains('day-head');
    const all = head ? this.heads : this.bars;
    if (by && event.shiftKey) {
      const day = this.heads.find((each) => Number(each.dataset.day) === Number(at.dataset.day) + by);
      if (day && head && at.classList.contains('off')) this.moveOff(at, day);
      else if (day && !head) this.putOff(at, day);
    } else if (by) {
      const next = all[all.indexOf(at) + by];
      if (next) { this.rove(next); next.focus({ preventScroll: true }); next.scrollIntoView({ block: 'nearest', inline: 'nearest' }); }
    } else if (head && (event.key === 'Enter' || event.key === ' ')) this.toggle(at);
    else if (!head && (event.key === 'Delete' || event.key === 'Backspace')) this.letGo(at);
    else return;
    event.preventDefault();
  }

  get off() { return this.wishes.off ?? this.heads.filter((head) => head.classList.contains('off')).map((head) => head.dataset.date); }

  toggle(head) {
    const { date } = head.dataset, { off } = this;
    const shut = off.includes(date);
    this.wish({ off: shut ? off.filter((each) => each !== date) : [...off, date] }, head);
  }

  moveOff(head, over) {
    if (head === over) return;
    this.wish({ off: [...this.off.filter((each) => each !== head.dataset.date), over.dataset.date] }, over);
  }

  putOff(bar, over) {
    const { key, piece } = bar.dataset, rest = this.wishes.held.filter(([stage, each]) => stage !== key || each !== Number(piece));
    this.wish({ held: [...rest, [key, Number(piece), over.dataset.date]] }, bar);
  }

  letGo(bar) {
    const { key, piece } = bar.dataset;
    this.wish({ held: this.wishes.held.filter(([stage, each]) => stage !== key || each !== Number(piece)) }, bar);
  }

  wish(change, at) {
    this.again = at ? { key: at.dataset.key, piece: at.dataset.piece, date: at.dataset.date } : null;
    this.send({ ...this.wishes, ...change });
  }

  async send(wishes, done) {
    this.wanted = { wishes, done };
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.wanted) {
        const { wishes: body, done: words } = this.wanted;
        this.wanted = null;
        find('days-said').textContent = 'Planning the days anew …';
        const answer = await fetch(`/doing/${this.generation}/days`, {
          method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body),
        });
        const now = await answer.json();
        if (!answer.ok) { find('days-said').textContent = now.error; continue; }
        this.wishes = now.wishes;
        this.put(now);
        find('days-said').textContent = words ?? (now.wished ? `So it is ${now.now}; as the job has it, ${now.before}.` : 'As the job has it.');
      }
    } catch { find('days-said').textContent = 'The bench does not answer.'; } finally { this.asking = false; }
  }

  put(now) {
    find('days').innerHTML = now.html;
    if (!this.again) return;
    const { key, piece, date } = this.again;
    const at = date ? this.heads.find((head) => head.dataset.date === date) : this.bars.find((bar) => bar.dataset.key === key && bar.dataset.piece === piece);
    if (at) { this.rove(at); at.focus({ preventScroll: true }); }
    this.again = null;
  }
}
