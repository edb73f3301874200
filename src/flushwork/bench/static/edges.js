// @ts-check
// Where shapes meet, by touch: an edge between two is made a seam line, one that lies in another is cut into it.

import { ask } from '/static/asked.js';
import { made } from '/static/filling.js';
import { under } from '/static/hand.js';

/** @typedef {[number, number]} Point */
/** @typedef {{ kind: 'edge' | 'overlap', things: [string, string], lines: Point[][], rings: Point[][], done: boolean, words: string }} Meeting */

const find = (/** @type {string} */ name) => /** @type {any} */ (document.getElementById(name));
const SVG = 'http://www.w3.org/2000/svg';
const NEAR_PX = 12;
const HOW = 'Touch an edge between two shapes to make it a seam line, or a shape inside another to cut it into it.';

// how far a place is from a line
function apart(/** @type {Point} */ [x, y], /** @type {Point[]} */ line) {
  let far = Infinity;
  for (let at = 0; at + 1 < line.length; at++) {
    const [a, b] = [line[at], line[at + 1]], [dx, dy] = [b[0] - a[0], b[1] - a[1]], long = dx * dx + dy * dy;
    const t = long ? Math.max(0, Math.min(1, ((x - a[0]) * dx + (y - a[1]) * dy) / long)) : 0;
    far = Math.min(far, Math.hypot(x - a[0] - t * dx, y - a[1] - t * dy));
  }
  return far;
}

const upper = (/** @type {string} */ words) => words[0].toUpperCase() + words.slice(1);

export class Edges {
  /** @param {any} making */
  constructor(making) {
    this.making = making;
    /** @type {Meeting[]} */
    this.all = [];
    this.known = '';
    this.asked = 0;
    this.count = 0;
    /** @type {Meeting | null} */
    this.at = null;
    /** @type {Point | null} */
    this.pressed = null;
    this.drawn = '';
    this.listed = '';
    const { board } = making, { canvas } = board, before = board.after;
    board.after = () => { before(); this.draw(); };
    canvas.addEventListener('pointermove', (/** @type {PointerEvent} */ event) => { if (this.on && !event.buttons) this.show(this.under(event)); });
    canvas.addEventListener('pointerdown', (/** @type {PointerEvent} */ event) => { this.pressed = [event.clientX, event.clientY]; });
    canvas.addEventListener('click', (/** @type {MouseEvent} */ event) => {
      const [x, y] = this.pressed ?? [event.clientX, event.clientY];
      if (!this.on || Math.hypot(event.clientX - x, event.clientY - y) > 4) return;
      this.show(this.under(event));
      if (this.at) this.join(this.at);
    });
    canvas.addEventListener('keydown', (/** @type {KeyboardEvent} */ event) => this.key(event), true);
    for (const button of document.querySelectorAll('[data-mode]')) button.addEventListener('click', () => { if (this.on) this.begin(); });
    document.addEventListener('in-hand', () => this.sheet());
    document.addEventListener('taken', () => { if (this.on) this.learn(); this.sheet(); });
  }

  get board() { return this.making.board; }

  get on() { return this.board.mode === 'edges' && !this.board.camera.lean; }

  async begin() {
    this.at = null;
    await this.learn();
    this.tell(this.open.length ? HOW : 'No two shapes of this face share an edge or lie in one another.');
  }

  // the places where something can still be done
  get open() { return this.all.filter((each) => !each.done); }

  // where the shapes of the text as it stands meet
  async learn() {
    const { text } = this.making, words = text.area.value, face = this.board.face, known = `${face} ${words}`;
    if (this.known === known || this.making.blank) return;
    const mine = (this.asked += 1), told = await ask('/making/meetings', text.sent({ text: words, face })).catch((/** @type {Error} */ error) => error);
    if (mine !== this.asked) return;
    this.all = told instanceof Error ? [] : told.meetings;
    this.known = told instanceof Error ? '' : known;
    this.at = null;
    this.drawn = '';
    document.documentElement.dataset.meetings = String(this.count += 1);
    this.board.soon();
  }

  /** @param {MouseEvent} event @returns {Meeting | null} */
  under(event) {
    const box = this.board.canvas.getBoundingClientRect(), { camera } = this.board;
    /** @type {Point} */
    const place = camera.toBoard(event.clientX - box.left, event.clientY - box.top);
    const near = NEAR_PX / camera.scale;
    const edges = this.all.filter((each) => each.kind === 'edge').map((each) => ({ each, far: Math.min(...each.lines.map((line) => apart(place, line))) }));
    const [edge] = edges.filter(({ far }) => far < near).sort((a, b) => a.far - b.far);
    if (edge) return edge.each;
    return this.all.find((each) => each.kind === 'overlap' && under({ rings: each.rings }, ...place).inside) ?? null;
  }

  /** @param {Meeting | null} meeting */
  show(meeting) {
    if (meeting === this.at) return;
    this.at = meeting;
    this.tell(meeting ? meeting.words : HOW);
    this.board.soon();
  }

  /** @param {string} words */
  tell(words) { this.board.readout.textContent = upper(words); }

  /** @param {Meeting} meeting */
  async join(meeting) {
    if (meeting.done) return;
    const [thing, other] = meeting.things, now = await this.making.change('/making/join', { how: meeting.kind, thing, other });
    if (!now) { this.tell(find('new-said').textContent || find('hand-said').textContent || HOW); return; }
    await this.learn();
    this.tell(`${now.said} Not saved yet.`);
    this.making.say(`${now.said} Not saved yet.`);
    document.documentElement.dataset.joined = now.things[0];
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.board.film) return;
    const stop = () => { event.preventDefault(); event.stopImmediatePropagation(); };
    if (event.key === 'e') { stop(); this.board.setMode('edges'); this.begin(); return; }
    if (!this.on) return;
    const by = { n: 1, b: -1 }[event.key] ?? 0, { open } = this;
    if (by && open.length) { stop(); const at = this.at ? open.indexOf(this.at) : -1; this.show(open[((at < 0 && by < 0 ? 0 : at) + by + open.length) % open.length]); }
    if (event.key === 'Enter' && this.at) { stop(); this.join(this.at); }
  }

  // beside the shape in hand: what can be done where it meets others
  async sheet() {
    const { hand } = this.making, place = find('meet-part'), { key } = hand;
    if (hand.kind !== 'inlay' || key.split('/')[1] !== this.board.face) { place.hidden = true; return; }
    await this.learn();
    if (key !== hand.key) return;
    const mine = this.open.filter((each) => each.things.includes(key)), words = mine.map((each) => each.words).join('\n');
    place.hidden = !mine.length;
    if (this.listed === `${key}\n${words}`) return;
    this.listed = `${key}\n${words}`;
    find('meets').replaceChildren(...mine.map((each) => {
      const button = made('button', upper(each.words));
      button.setAttribute('type', 'button');
      button.addEventListener('click', () => this.join(each));
      return button;
    }));
  }

  // over the board: every edge that could be a seam line, and the one that is under the pointer
  draw() {
    const over = find('meeting'), { camera, face, film } = this.board;
    const told = this.on && film ? JSON.stringify([camera, face, this.known.length, this.at?.things, this.count]) : '';
    if (told === this.drawn) return;
    this.drawn = told;
    over.replaceChildren();
    if (!told) return;
    over.setAttribute('viewBox', `0 0 ${camera.width} ${camera.height}`);
    const path = (/** @type {Point[][]} */ lines, end = '') => lines.map((line) => `M${line.map(([x, y]) => camera.toScreen(x, y).map((/** @type {number} */ v) => v.toFixed(1)).join(' ')).join('L')}${end}`).join('');
    for (const each of this.all) {
      if (each.done && each !== this.at) continue;
      const d = each.kind === 'edge' ? path(each.lines) : path(each.rings, 'Z'), chosen = each === this.at ? ' chosen' : '';
      for (const name of ['ground', each.kind]) {
        const line = document.createElementNS(SVG, 'path');
        line.setAttribute('class', `${name}${chosen}`);
        line.setAttribute('d', d);
        over.append(line);
      }
    }
  }
}
