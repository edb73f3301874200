// Two states of the board in one picture: side by side or blinking, and what differs in figures.

import { answered, ask, failed } from '/static/asked.js';
import { loadFilm } from '/static/film.js';

const find = (name) => document.getElementById(name);
const units = document.documentElement.dataset.units;
const BLINK_MS = 900;
const AGAIN_MS = 700;
const SAVED = 'saved';

export class Compare {
  constructor(board, strip, text) {
    Object.assign(this, { board, strip, text, shown: 'beside', asked: 0 });
    this.canvas = find('there');
    find('against').addEventListener('change', () => { this.chosen = find('against').value; this.again(); });
    find('compare-form').addEventListener('submit', (event) => event.preventDefault());
    find('seam').addEventListener('input', () => this.lay());
    const ways = [...document.querySelectorAll('[data-shown]')];
    ways.forEach((way, at) => {
      way.addEventListener('click', () => this.show(way.dataset.shown));
      way.addEventListener('keydown', (event) => {
        const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!by) return;
        const next = ways[(at + by + ways.length) % ways.length];
        this.show(next.dataset.shown);
        next.focus();
        event.preventDefault();
      });
    });
    document.addEventListener('taken', () => this.again());
    board.beside = (scene) => this.paint(scene);
    this.look();
  }

  // comparing goes on as long as its sheet is in hand
  look() {
    const on = location.hash === '#compare';
    if (on === this.on) return;
    this.on = on;
    this.again();
  }

  show(how) {
    this.shown = how;
    for (const way of document.querySelectorAll('[data-shown]')) {
      way.setAttribute('aria-checked', String(way.dataset.shown === how));
      way.tabIndex = way.dataset.shown === how ? 0 : -1;
    }
    clearInterval(this.blinking);
    if (how === 'blink') this.blinking = setInterval(() => { this.turn = !this.turn; this.lay(); }, BLINK_MS);
    this.lay();
  }

  // what there is to compare with: the saved job while another text is tried, and each stage
  choices() {
    const place = find('against'), { film } = this.board, options = [];
    // what was chosen holds as long as the same can be chosen
    if (this.text.dirty !== this.tried) this.chosen = undefined;
    this.tried = this.text.dirty;
    if (this.tried) options.push([SAVED, 'the saved job, after the same stage']);
    for (const shot of film.shots) options.push([String(shot.stage), shot.stage ? `this job after stage ${shot.stage}` : 'this job as sawn']);
    const told = JSON.stringify(options);
    if (told !== this.offered) { place.replaceChildren(...options.map(([value, words]) => new Option(words, value))); this.offered = told; }
    const known = options.some(([value]) => value === this.chosen);
    place.value = known ? this.chosen : this.tried ? SAVED : String(Math.max(0, this.strip.stage - 1));
    return place.value;
  }

  again() {
    clearTimeout(this.later);
    this.other = null;
    this.painted = '';
    if (!this.on || !this.board.film) { clearInterval(this.blinking); this.asked += 1; this.lay(); return; }
    if (this.shown === 'blink') this.show('blink');
    this.fetch();
  }

  // the stage chosen on the strip is another: the same question of that one
  moved() { if (this.on) this.again(); }

  async fetch() {
    const mine = ++this.asked, { board, strip } = this, value = this.choices(), here = strip.stage;
    const of = value === SAVED ? here : Number(value);
    try {
      const saved = value === SAVED ? await ask('/standing') : null;
      const generation = saved ? saved.generation : board.film.generation;
      const film = !saved || generation === board.film.generation ? board.film : await loadFilm(generation, of, board.face);
      if (mine !== this.asked) return;
      film.come = () => board.soon();
      const stage = film.byStage.has(of) ? of : film.last;
      this.other = { film, stage };
      const names = saved ? ['Saved', 'Tried'] : [stage ? `After stage ${stage}` : 'As sawn', here ? `After stage ${here}` : 'As sawn'];
      this.name(names);
      board.soon();
      const told = await ask(`/thing/${board.film.generation}/against/${generation}?there=${stage}&here=${here}&units=${units}`);
      if (mine !== this.asked) return;
      answered('compare');
      this.rows(told.rows);
      // figures that follow with the check are asked for again once it is there: the page is told then
    } catch (error) {
      if (mine !== this.asked) return;
      this.rows([]);
      if (error.status === 410) { this.later = setTimeout(() => this.again(), AGAIN_MS); return; }
      failed('compare', `What differs is not shown: ${error.message}`);
    }
  }

  name([there, here]) {
    find('there-name').textContent = find('there-head').textContent = there;
    find('here-name').textContent = find('here-head').textContent = here;
  }

  rows(rows) {
    const body = find('differences').tBodies[0], same = rows.filter((row) => row.same).length;
    body.replaceChildren(...rows.map((row) => {
      const line = document.createElement('tr'), head = document.createElement('th');
      head.scope = 'row';
      head.textContent = row.label;
      line.classList.toggle('same', row.same);
      line.append(head, ...[row.there, row.here, row.change].map((words) => Object.assign(document.createElement('td'), { textContent: words })));
      return line;
    }));
    find('compare-said').textContent = rows.length ? `${rows.length - same} of ${rows.length} figures differ.` : '';
  }

  // paint the other state first and keep its picture; what is in sight is painted over it
  paint(scene) {
    const { board, other, canvas } = this, { painter } = board, { canvas: live } = painter;
    if (!this.on || !other) return false;
    const told = JSON.stringify([scene.camera, scene.face, scene.lamp, scene.times, live.width, live.height, other.stage, other.film.generation]);
    if (told === this.painted && this.fine) return false;
    if (other.film !== board.film) painter.take(other.film);
    // at rest in one go: what is painted in parts would be painted over by the state in sight
    const { reach } = painter;
    painter.reach = Infinity;
    const more = painter.paint({ ...scene, stage: other.stage }), late = painter.behind;
    painter.reach = reach;
    if (other.film !== board.film) painter.take(board.film);
    if (!late) {
      if (canvas.width !== live.width || canvas.height !== live.height) [canvas.width, canvas.height] = [live.width, live.height];
      const pen = canvas.getContext('2d');
      pen.clearRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(live, 0, 0);
      this.painted = told;
    }
    this.fine = !late && scene.fine && !more;
    this.lay();
    return !this.fine && !late;
  }

  lay() {
    const { canvas, shown } = this, there = Boolean(this.on && this.other && this.painted), share = Number(find('seam').value);
    canvas.hidden = !there || (shown === 'blink' && this.turn);
    canvas.style.clipPath = shown === 'beside' ? `inset(0 ${100 - share}% 0 0)` : '';
    canvas.classList.toggle('seamed', shown === 'beside');
    find('meet').hidden = !there;
    find('seam').hidden = shown !== 'beside';
    const seen = shown === 'beside' ? '' : canvas.hidden ? 'here' : 'there';
    find('there-name').classList.toggle('unseen-now', seen === 'here');
    find('here-name').classList.toggle('unseen-now', seen === 'there');
    this.board.seam = there && shown === 'beside' ? share / 100 : null;
    this.board.overlaid = '';
    if (this.laid !== this.board.seam) { this.laid = this.board.seam; this.board.soon(); }
  }
}
