// @ts-check
// The living board: what pointer and keys do to it, and what is drawn over it.

import { answered, ask, failed } from '/static/asked.js';
import { Camera } from '/static/camera.js';
import { Live } from '/static/live.js';
import { Pace } from '/static/pace.js';

/** @typedef {import('/static/film.js').Film} Film */
/** @typedef {import('/static/film.js').FaceName} FaceName */
/** @typedef {[number, number]} Place on a face, mm; or on the screen, pixels */
/** @typedef {[Place, Place]} Line of a cross-section, from A to B */
/** @typedef {{ face: FaceName, x: number, y: number, mark: string, number: number, words: string, key: string }} Pin */
/** @typedef {{ top_mm: number, wood_mm: number, hole: boolean, layers: { material: string, mm: number }[] }} Column */
/** @typedef {(over: SVGElement, element: typeof import('/static/board.js').element) => void} Drawing */

/** @param {string} name */
const find = (name) => document.getElementById(name);
const SVG = 'http://www.w3.org/2000/svg';
const still = window.matchMedia('(prefers-reduced-motion: reduce)');
const REST_MS = 160;
// a leaning board with its sides is taller than one that lies
const LEANING = 0.84;
// a drag no longer than this is a click, which draws no line
const DRAG_PX = 5;
// pins stand so far apart that each can be hit by itself
const PIN_APART_PX = 26;
export const MM_PER_INCH = 25.4;

// below the words along the lower edge
const READ_PX = 11;
// what lies next to the pointer is taken for the place meant
const SNAP_PX = 7;
// what of the line of a section the arrows move
const PARTS = ['the whole line', 'its end A', 'its end B'];
const HANDLE_PX = 14;
const INCH = document.documentElement.dataset.units === 'inch';
// lengths that a scale bar may have
const BARS = INCH ? [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 8].map((inches) => inches * 25.4) : [0.5, 1, 2, 5, 10, 20, 50, 100, 200];
const BAR_PX = 150;

/** @param {number} mm */
export function said(mm, places = 2) {
  if (document.documentElement.dataset.units !== 'inch') return `${mm.toFixed(places).replace('-', '−')} mm`;
  return `${(mm / MM_PER_INCH).toFixed(places + 1).replace('-', '−')} in`;
}

/** @param {string} name
 * @param {Record<string, string | number>} attributes
 * @param {Element} parent */
export function element(name, attributes, parent) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  parent.append(made);
  return made;
}

export class Board {
  constructor() {
    /** @type {HTMLCanvasElement} */
    this.canvas = find('live');
    this.over = find('over');
    this.readout = find('readout');
    this.place = find('place');
    /** @type {() => Place[]} the middles of the things of this face */
    this.middles = () => [];
    this.part = 0;
    this.camera = new Camera();
    /** @type {FaceName} */
    this.face = 'front';
    this.stage = 0;
    this.mode = 'move';
    this.times = 3;
    /** @type {Pin[]} */
    this.pins = [];
    /** @type {Place[]} */
    this.points = [];
    /** @type {Line | null} that of the cross-section */
    this.line = null;
    /** @type {number | null} the place on it that is pointed at, 0 to 1 */
    this.marker = null;
    /** @type {Place} where the lamp is, as shares of the board */
    this.lampAt = [0.22, 0.8];
    /** @type {Drawing | null} what another part of the page draws over the board */
    this.extra = null;
    /** @type {Film | undefined} */
    this.film = undefined;
    // what a pointer does: where it went down, what of the line it took, the line before
    /** @type {Place | undefined} */
    this.down = undefined;
    /** @type {Place | null} */
    this.from = null;
    /** @type {{ line: Line | null } | null} */
    this.before = null;
    /** @type {{ end: number | null } | null} */
    this.grip = null;
    /** @type {Told} */
    this.lights = () => {};
    /** @type {Told} */
    this.beside = () => false;
    /** @type {number | null} where two pictures meet, 0 to 1 */
    this.seam = null;
    this.after = () => {};
    /** @type {Told} */
    this.onStage = () => {};
    /** @type {Told} */
    this.onLine = () => {};
    this.onFace = () => {};
    // put in by what paints the board, by what is in hand and by the odds
    /** @type {any} either painter: one has no textures, the other no still pictures */
    this.painter = undefined;
    /** @type {Drawing | null | undefined} */
    this.heat = undefined;
    /** @type {number | undefined} */
    this.opened = undefined;
    /** @type {Set<number> | undefined} */
    this.litPins = undefined;
    this.isStill = false;
    this.pace = new Pace();
    this.pointer();
    this.buttons();
    this.live = new Live(this);
    this.keys();
    new ResizeObserver(() => this.resize()).observe(this.canvas.parentElement);
  }

  /** @param {Film} film
   * @param {Pin[]} [pins] */
  take(film, pins) {
    this.film = film;
    film.come = () => this.soon();
    this.pins = pins ?? [];
    this.painter.take(film);
    this.camera.flipX = film.turn_about_x;
    this.tone = this.woodTone(film);
    this.drawnStage = null;
    if (!this.placed) { this.resize(); this.whole(); this.placed = true; }
    this.soon();
  }

  /** @param {Film} film */
  woodTone(film) {
    const [wood] = Object.values(film.woods), sum = [0, 0, 0];
    let count = 0;
    for (let i = 0; i + 2 < wood.length; i += 3000) {
      for (let c = 0; c < 3; c++) sum[c] += wood[i + c] / 255;
      count++;
    }
    return sum.map((s) => s / count * 0.95);
  }

  /** @param {number} stage */
  show(stage) {
    this.stage = stage;
    this.readPoints();
    // of a board that lies still only what differs is painted: no need to be coarse
    this.moving(this.camera.lean !== 0);
  }

  /** @returns {[number, number, number, number]} */
  bounds() {
    const shot = this.film.shot(this.stage);
    if (!shot.trimmed) return [0, 0, this.film.length_mm, this.film.width_mm];
    const points = this.film.outline[this.face].flat();
    const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  }

  whole() { if (this.film) { this.fit(); this.fitted = true; this.moving(); } }

  // the words below the board lie beside it, not on it
  fit() { this.camera.fit(this.bounds(), this.readout.textContent ? this.readout.offsetHeight + READ_PX : 0); }

  resize() {
    const box = this.canvas.parentElement.getBoundingClientRect();
    if (!box.width) return;
    const first = this.camera.width === 1;
    const k = box.width / this.camera.width;
    this.camera.width = box.width;
    this.camera.height = box.height;
    if (!first) this.camera.scale *= k;
    // a board that was in sight as a whole stays so, whatever lies beside it
    if ((first || this.fitted) && this.film) this.fit();
    this.soon();
  }

  /** @param {number} ratio */
  setPixels(ratio) {
    const width = Math.round(this.camera.width * ratio), height = Math.round(this.camera.height * ratio), { canvas } = this.live;
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
  }

  // paint at once in plain light, and again with shadows once all is at rest
  moving(wholly = true) {
    this.lively = true;
    this.wholly = wholly;
    clearTimeout(this.resting);
    this.resting = setTimeout(() => { this.lively = false; this.soon(); }, REST_MS);
    this.soon();
  }

  soon() {
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; this.draw(); });
  }

  draw() {
    if (!this.film || this.camera.width < 2) return;
    const started = performance.now(), took = this.pace.begin();
    this.setPixels(this.pace.pixels(this.lively && this.wholly, took));
    const [lx, ly] = this.lampAt;
    const size = Math.max(this.film.length_mm, this.film.width_mm);
    const scene = {
      camera: this.camera, face: this.face, stage: this.stage, fine: !this.lively, wholly: this.wholly, took, tone: this.tone ?? [0.5, 0.4, 0.3],
      times: this.times, lamp: [lx * this.film.length_mm, ly * this.film.width_mm, size * 0.55],
    };
    // another state to compare with leaves its own picture before this one is painted
    const other = this.beside(scene), more = this.painter.paint(scene) || other;
    if (more && !this.lively) this.soon();
    this.overlay();
    this.after();
    this.live.tell(this.stage);
    this.frame_ms = performance.now() - started;
    const label = this.label();
    if (label !== this.labelled) this.canvas.setAttribute('aria-label', this.labelled = label);
  }

  label() {
    const late = this.painter.behind ? '; its picture is on its way' : '';
    return `The ${this.face} of the board after: ${find('stage-title').textContent}${late}`;
  }

  pointer() {
    const { canvas } = this, held = new Map();
    /** @returns {[number, number]} */
    const at = (event) => {
      const box = canvas.getBoundingClientRect();
      return [event.clientX - box.left, event.clientY - box.top];
    };
    canvas.addEventListener('pointerdown', (event) => {
      if (!this.film || event.button > 1) return;
      canvas.setPointerCapture(event.pointerId);
      held.set(event.pointerId, at(event));
      this.dragged = false;
      this.down = at(event);
      const place = this.camera.toBoard(...at(event));
      // a second finger pinches: the line is what it was
      if (held.size > 1) { this.noLine(); return; }
      if (this.mode === 'section') { this.before = { line: this.line }; this.grip = this.gripped(at(event)); this.from = this.grip ? place : this.snapped(place, null, event.altKey); }
      if (this.mode === 'measure') this.setPoint(place);
      if (this.mode === 'light') this.carry(at(event));
    });
    canvas.addEventListener('pointermove', (event) => {
      if (!held.has(event.pointerId)) return;
      const was = held.get(event.pointerId), now = at(event);
      const before = [...held.values()];
      held.set(event.pointerId, now);
      if (Math.hypot(now[0] - this.down[0], now[1] - this.down[1]) >= DRAG_PX) this.dragged = true;
      if (held.size === 2) { this.pinch(before, [...held.values()]); return; }
      const place = this.camera.toBoard(...now);
      if (this.mode === 'move') {
        if (this.camera.lean && !event.shiftKey) this.lean(now[0] - was[0], now[1] - was[1]);
        else if (this.dragged) { this.camera.pan(now[0] - was[0], now[1] - was[1]); this.fitted = false; this.moving(); }
      } else if (this.mode === 'section' && this.from) {
        /** @type {Line} */
        const line = this.grip ? this.moved(place, event.altKey) : [this.from, this.snapped(place, this.from, event.altKey)];
        if (!this.dragged || this.tooShort(...line)) { this.line = this.before.line; this.soon(); return; }
        this.line = line;
        this.onLine(this.line);
        this.soon();
      } else if (this.mode === 'light') this.carry(now);
      else if (this.mode === 'measure' && this.points.length) {
        const far = Math.hypot(place[0] - this.points[0][0], place[1] - this.points[0][1]);
        if (far * this.camera.scale > 4) { this.points = [this.points[0], place]; this.soon(); this.readPoints(); }
      }
    });
    canvas.addEventListener('pointermove', (event) => this.point(event.pointerType === 'touch' ? null : at(event)));
    canvas.addEventListener('pointerleave', () => this.point(null));
    const end = (event) => {
      held.delete(event.pointerId);
      if (this.mode === 'section' && this.from && this.line !== this.before.line) this.onLine(this.line);
      else this.noLine();
      this.from = this.before = null;
    };
    canvas.addEventListener('pointerup', end);
    canvas.addEventListener('pointercancel', end);
    canvas.addEventListener('wheel', (event) => {
      if (!this.film || !(event.ctrlKey || document.activeElement === canvas)) return;
      event.preventDefault();
      this.camera.zoom(Math.exp(-event.deltaY * 0.0016), ...at(event));
      this.fitted = false;
      this.moving();
    }, { passive: false });
    canvas.addEventListener('dblclick', (event) => {
      if (this.mode === 'move') { this.camera.zoom(2, ...at(event)); this.fitted = false; this.moving(); }
    });
  }

  // the end of the line under the pointer, or the line itself; none where a new one is to be drawn
  /** @param {Place} at
   * @returns {{ end: number | null } | null} */
  gripped(at) {
    if (!this.line) return null;
    const ends = this.line.map((end) => this.camera.toScreen(...end));
    const near = ends.findIndex(([x, y]) => Math.hypot(x - at[0], y - at[1]) < HANDLE_PX);
    if (near >= 0) return { end: near };
    const [[ax, ay], [bx, by]] = ends, long = Math.hypot(bx - ax, by - ay) || 1;
    const along = ((at[0] - ax) * (bx - ax) + (at[1] - ay) * (by - ay)) / long, off = ((at[0] - ax) * (by - ay) - (at[1] - ay) * (bx - ax)) / long;
    return along > 0 && along < long && Math.abs(off) < SNAP_PX ? { end: null } : null;
  }

  /** @param {Place} place
   * @param {boolean} free
   * @returns {Line} */
  moved(place, free) {
    const [a, b] = this.before.line, { end } = this.grip, [dx, dy] = [place[0] - this.from[0], place[1] - this.from[1]];
    if (end !== null) return end ? [a, this.snapped(place, a, free)] : [this.snapped(place, b, free), b];
    return [[a[0] + dx, a[1] + dy], [b[0] + dx, b[1] + dy]];
  }

  // a place taken to the middle of a thing, or level or upright with the other end of its line, where that is near
  /** @param {Place} place
   * @param {Place | null} other
   * @param {boolean} free
   * @returns {Place} */
  snapped(place, other, free) {
    if (free) return place;
    const near = SNAP_PX / this.camera.scale;
    for (const [x, y] of this.middles()) if (Math.hypot(x - place[0], y - place[1]) < near) return [x, y];
    if (!other) return place;
    if (Math.abs(place[1] - other[1]) < near) return [place[0], other[1]];
    if (Math.abs(place[0] - other[0]) < near) return [other[0], place[1]];
    return place;
  }

  // where the middle of the trim line is: places are told from there, as in the job
  /** @returns {[number, number]} */
  get origin() {
    const points = this.film.outline[this.face].flat();
    const middle = (k) => (Math.min(...points.map((p) => p[k])) + Math.max(...points.map((p) => p[k]))) / 2;
    return [middle(0), middle(1)];
  }

  /** @param {Place} place */
  whereOf([x, y]) {
    const [ox, oy] = this.origin;
    return `right ${said(x - ox)}, up ${said(y - oy)}`;
  }

  // a line has to have a length: as far as a drag, and as a cell of the replay
  /** @param {Place} a
   * @param {Place} b */
  tooShort(a, b) {
    const far = Math.hypot(b[0] - a[0], b[1] - a[1]);
    return far * this.camera.scale < DRAG_PX || far < this.film.cell_mm;
  }

  // the place under the pointer, in the units of the page
  /** @param {[number, number] | null} at */
  point(at) {
    const { place } = this;
    place.textContent = at && this.film && !this.camera.lean ? `From the middle: ${this.whereOf(this.camera.toBoard(...at))}` : '';
  }

  // a drag that was none: the line before stays, and so does its section
  noLine() {
    if (!this.before) return;
    if (this.line !== this.before.line) { this.line = this.before.line; if (this.line) this.onLine(this.line); }
    this.from = this.before = null;
    this.soon();
  }

  /** @param {Place[]} before
   * @param {Place[]} now */
  pinch(before, now) {
    const gap = (p) => Math.hypot(p[0][0] - p[1][0], p[0][1] - p[1][1]);
    const middle = (p) => [(p[0][0] + p[1][0]) / 2, (p[0][1] + p[1][1]) / 2];
    const [m0, m1] = [middle(before), middle(now)];
    this.camera.zoom(gap(now) / Math.max(1, gap(before)), ...m1);
    this.camera.pan(m1[0] - m0[0], m1[1] - m0[1]);
    this.fitted = false;
    this.moving();
  }

  /** @param {number} dx
   * @param {number} dy */
  lean(dx, dy) {
    this.camera.spin += dx * 0.006;
    this.camera.lean = Math.min(1.35, Math.max(0.08, this.camera.lean - dy * 0.006));
    this.moving();
  }

  /** @param {Place} at */
  carry([px, py]) {
    const [x, y] = this.camera.toBoard(px, py);
    this.lampAt = [x / this.film.length_mm, y / this.film.width_mm];
    this.moving();
  }

  /** @param {string} mode */
  setMode(mode) {
    this.mode = mode;
    this.canvas.dataset.mode = mode;
    for (const each of document.querySelectorAll('[data-mode][role="radio"]')) {
      each.setAttribute('aria-checked', String(each.dataset.mode === mode));
      each.tabIndex = each.dataset.mode === mode ? 0 : -1;
    }
    if (mode !== 'measure') { this.points = []; }
    this.readout.textContent = {
      section: 'Drag a line over the board, or take the one there by its ends or its middle.',
      measure: 'Touch one place, then another.',
      light: 'Drag the lamp over the board.',
    }[mode] ?? '';
    if (this.fitted && this.film) this.fit();
    this.soon();
  }

  buttons() {
    const modes = [...document.querySelectorAll('[data-mode][role="radio"]')];
    modes.forEach((button, index) => {
      button.addEventListener('click', () => this.setMode(button.dataset.mode));
      button.addEventListener('keydown', (event) => {
        const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!by) return;
        const next = modes[(index + by + modes.length) % modes.length];
        this.setMode(next.dataset.mode);
        next.focus();
        event.preventDefault();
      });
    });
    this.setMode('move');
    find('turn').addEventListener('click', () => this.turnOver());
    find('tilt').addEventListener('click', () => this.tilt());
    find('closer').addEventListener('click', () => { this.camera.zoom(1.5); this.fitted = false; this.moving(); });
    find('farther').addEventListener('click', () => { this.camera.zoom(1 / 1.5); this.fitted = false; this.moving(); });
    find('whole').addEventListener('click', () => this.whole());
    find('depth').addEventListener('input', (event) => {
      this.times = Number(event.target.value);
      find('times').textContent = event.target.value;
      this.moving();
    });
  }

  /** @param {FaceName} [to] */
  turnOver(to) {
    /** @type {FaceName} */
    const target = to ?? (this.face === 'front' ? 'back' : 'front');
    if (!this.film || target === this.face) return;
    const flip = () => {
      const f = this.film;
      if (f.turn_about_x) this.camera.y = f.width_mm - this.camera.y;
      else this.camera.x = f.length_mm - this.camera.x;
      this.faceUp(target);
    };
    if (still.matches) { flip(); this.moving(); return; }
    const begun = performance.now(), lasts = 420;
    let turned = false;
    const step = (now) => {
      const t = Math.min(1, (now - begun) / lasts);
      if (t >= 0.5 && !turned) { turned = true; flip(); }
      this.camera.flip = Math.max(0.02, Math.abs(Math.cos(Math.PI * t)));
      if (t < 1) requestAnimationFrame(step); else this.camera.flip = 1;
      this.moving();
    };
    requestAnimationFrame(step);
  }

  // another face is up: a line and points on the one before are nowhere on it
  /** @param {FaceName} face */
  faceUp(face) {
    this.face = face;
    this.line = null;
    this.points = [];
    this.readout.textContent = '';
    find('turn').textContent = face === 'front' ? 'Turn over' : 'Turn back';
    this.onFace();
  }

  // a still picture is one of a board that lies
  lieFlat() {
    const { camera } = this;
    if (!camera.lean) return;
    camera.lean = camera.spin = 0;
    camera.scale /= LEANING;
    this.tilted(false);
  }

  /** @param {boolean} on */
  tilted(on) {
    find('tilt').setAttribute('aria-pressed', String(on));
    document.querySelector('.board .depth').hidden = !on;
  }

  tilt() {
    if (this.isStill) return;
    const on = !this.camera.lean;
    this.tilted(on);
    const [lean, spin] = on ? [0.85, 0.5] : [0, 0];
    const from = [this.camera.lean, this.camera.spin], scale = this.camera.scale;
    const to = scale * (on ? LEANING : 1 / LEANING);
    const settle = (t) => {
      if (this.isStill) return;
      this.camera.lean = from[0] + (lean - from[0]) * t;
      this.camera.spin = from[1] + (spin - from[1]) * t;
      this.camera.scale = scale + (to - scale) * t;
      this.moving();
    };
    if (still.matches) { settle(1); return; }
    const begun = performance.now();
    const step = (now) => {
      const t = Math.min(1, Math.max(0, (now - begun) / 350));
      settle(t * t * (3 - 2 * t));
      if (t < 1) requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  keys() {
    this.canvas.addEventListener('keydown', (event) => {
      if (!this.film || event.ctrlKey || event.metaKey || event.altKey) return;
      const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      const { camera } = this;
      if (arrow && this.mode === 'light') {
        this.lampAt = [this.lampAt[0] + arrow[0] * 0.05, this.lampAt[1] - arrow[1] * 0.05];
      } else if (arrow && this.mode === 'section' && this.line) this.nudge(arrow, event.shiftKey);
      else if (event.key === 'Enter' && this.mode === 'section') { this.part = (this.part + 1) % PARTS.length; this.readout.textContent = `Arrows move ${PARTS[this.part]}; with Shift, a tenth as far.`; }
      else if (arrow && camera.lean) this.lean(arrow[0] * 14, arrow[1] * 14);
      else if (arrow) { camera.pan(-arrow[0] * 40, -arrow[1] * 40); this.fitted = false; }
      else if (event.key === '+' || event.key === '=') { camera.zoom(1.3); this.fitted = false; }
      else if (event.key === '-') { camera.zoom(1 / 1.3); this.fitted = false; }
      else if (event.key === '0') this.whole();
      else if (event.key === '.') this.onStage(1);
      else if (event.key === ',') this.onStage(-1);
      else if (event.key === 'f') this.turnOver();
      else if (event.key === 't') this.tilt();
      else if (event.key === 'l' && !this.isStill) this.setMode('light');
      else if (event.key === 'v') this.setMode('move');
      else if (event.key === 'm') this.setMode('measure');
      else if (event.key === 's') this.sawMiddle();
      else if (event.key === 'Enter' && this.mode === 'measure') this.setPoint(camera.toBoard(camera.width / 2, camera.height / 2));
      else return;
      event.preventDefault();
      this.moving();
    });
  }

  // the line or one of its ends a little further
  /** @param {number[]} arrow
   * @param {boolean} little */
  nudge([right, down], little) {
    const mm = (INCH ? 25.4 / 16 : 1) / (little ? 10 : 1);
    /** @param {number} end
     * @returns {Place} */
    const further = (end) => {
      const [x, y] = this.line[end];
      return this.part && this.part - 1 !== end ? [x, y] : [x + right * mm, y - down * mm];
    };
    this.lay([further(0), further(1)]);
  }

  // another line, typed or moved with keys
  /** @param {Line} line */
  lay(line) {
    if (Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1]) < this.film.cell_mm) return;
    this.line = line;
    this.onLine(line);
    this.soon();
  }

  sawMiddle() {
    this.setMode('section');
    const { camera } = this;
    const left = camera.toBoard(camera.width * 0.1, camera.height / 2);
    const right = camera.toBoard(camera.width * 0.9, camera.height / 2);
    this.line = [left, right];
    this.onLine(this.line);
  }

  /** @param {FaceName} face
   * @param {number} x
   * @param {number} y */
  goTo(face, x, y) {
    const there = () => {
      this.camera.x = x;
      this.camera.y = y;
      this.camera.scale = Math.max(this.camera.scale, this.camera.width / 60);
      this.fitted = false;
      this.moving();
    };
    if (face !== this.face) this.faceUp(face);
    there();
  }

  /** @param {Place} place */
  setPoint(place) {
    this.points = this.points.length === 1 ? [this.points[0], place] : [place];
    this.soon();
    this.readPoints();
  }

  // tell what lies at the points set, and how far apart they are; the latest question wins
  async readPoints() {
    const { points } = this;
    if (!points.length || !this.film) return;
    if (this.reading) { this.readAgain = true; return; }
    this.reading = true;
    try {
      const stacks = await Promise.all(points.map(([x, y]) => {
        const asked = `stage=${this.stage}&face=${this.face}&x=${x.toFixed(3)}&y=${y.toFixed(3)}`;
        return ask(`/board/${this.film.generation}/column?${asked}`);
      }));
      answered('column');
      if (points === this.points) this.readout.textContent = this.apart(points, stacks);
    } catch (error) {
      this.readout.textContent = '';
      failed('column', `What lies there is not known: ${error.message}`);
    } finally {
      this.reading = false;
      if (this.readAgain) { this.readAgain = false; this.readPoints(); }
    }
  }

  /** @param {Place[]} points
   * @param {(Column | undefined)[]} stacks */
  apart(points, stacks) {
    /** @param {Column | undefined} data */
    const stack = (data) => {
      if (!data) return '';
      if (data.hole) return 'a hole right through';
      const layers = data.layers.map((l) => `${l.material} ${said(l.mm)}`);
      return [...layers, `wood ${said(data.wood_mm)}`].join(' over ');
    };
    const here = stacks.map(stack);
    if (points.length === 1) return `Here: ${here[0]}; from the middle ${this.whereOf(points[0])}.`;
    const [a, b] = points;
    const far = Math.hypot(a[0] - b[0], a[1] - b[1]);
    const rise = stacks[0] && stacks[1] ? `, ${said(stacks[1].top_mm - stacks[0].top_mm, 3)} in height` : '';
    return `${said(far)} apart (${said(Math.abs(b[0] - a[0]))} along, ${said(Math.abs(b[1] - a[1]))} across${rise}). From ${here[0]} to ${here[1]}.`;
  }

  /** @param {SVGElement} over */
  scaleBar(over) {
    const { camera } = this, mm = BARS.findLast((each) => each * camera.scale < BAR_PX) ?? BARS[0], long = mm * camera.scale;
    const y = camera.height - 12, d = `M12 ${y - 5}V${y}H${(12 + long).toFixed(1)}V${y - 5}`;
    for (const kind of ['scale under', 'scale']) element('path', { class: kind, d }, over);
    const words = INCH ? `${mm / MM_PER_INCH < 1 ? `1/${Math.round(MM_PER_INCH / mm)}` : mm / MM_PER_INCH} in` : `${mm} mm`;
    for (const kind of ['scale-words under', 'scale-words']) element('text', { class: kind, x: 12, y: y - 8 }, over).textContent = words;
  }

  // where the pins of this face stand: side by side where several belong to one place
  pinPlaces() {
    /** @type {{ pin: Pin, x: number, y: number, at: Place }[]} */
    const stood = [];
    for (const pin of this.pins) {
      if (pin.face !== this.face) continue;
      const at = this.camera.toScreen(pin.x, pin.y);
      let [x, y] = at;
      for (let n = 0; stood.some((each) => Math.hypot(each.x - x, each.y - y) < PIN_APART_PX); n++) {
        const far = PIN_APART_PX * (1 + Math.floor(n / 8)), turn = Math.PI / 4 * n;
        [x, y] = [at[0] + far * Math.cos(turn), at[1] - far * Math.sin(turn)];
      }
      stood.push({ pin, x, y, at });
    }
    return stood;
  }

  overlay() {
    const { over, camera } = this;
    // what is drawn over the board stays while nothing of it differs: a stage alone changes only the board
    const told = this.heat || this.extra ? '' : JSON.stringify([camera, this.film.px_mm * camera.scale > 1 && this.stage, this.face, this.opened, this.mode, this.line, this.part, this.marker, this.points, document.activeElement === this.canvas]);
    if (told && told === this.overlaid && this.pins === this.pinned) return;
    this.overlaid = told;
    this.pinned = this.pins;
    over.setAttribute('viewBox', `0 0 ${camera.width} ${camera.height}`);
    over.replaceChildren();
    this.lights(over, element);
    if (this.heat) this.heat(over, element);
    if (this.extra) this.extra(over, element);
    const stood = this.pinPlaces();
    for (const { pin, x, y, at } of stood) {
      if (x !== at[0] || y !== at[1]) element('line', { class: `pin-leg ${pin.mark}`, x1: x, y1: y, x2: at[0], y2: at[1] }, over);
    }
    for (const { pin, x, y } of stood) {
      const group = element('g', { class: `pin-mark ${pin.mark}${pin.number === this.opened ? ' open' : ''}${this.litPins?.has(pin.number) ? ' lit' : ''}`, transform: `translate(${x} ${y})` }, over);
      const shape = { 'must-fix': 'M-9-9H9V9H-9z', warning: 'M0-12L12 9H-12z', note: 'M0-10A10 10 0 1 1 0 10A10 10 0 1 1 0-10' }[pin.mark];
      element('path', { d: shape }, group);
      element('text', { y: pin.mark === 'warning' ? 6 : 4 }, group).textContent = String(pin.number);
      element('title', {}, group).textContent = pin.words;
    }
    if (this.seam !== null) {
      const x = this.seam * camera.width;
      for (const kind of ['saw under', 'seam']) element('line', { class: kind, x1: x, y1: 0, x2: x, y2: camera.height }, over);
    }
    if (this.line && (this.mode === 'section' || this.marker !== null)) {
      const [a, b] = [camera.toScreen(...this.line[0]), camera.toScreen(...this.line[1])];
      for (const kind of ['saw under', 'saw']) {
        element('line', { class: kind, x1: a[0], y1: a[1], x2: b[0], y2: b[1] }, over);
      }
      for (const [at, name] of ['A', 'B'].entries()) {
        const p = at ? b : a;
        element('circle', { class: `end${this.mode === 'section' && this.part && name === ' AB'[this.part] ? ' chosen' : ''}`, cx: p[0], cy: p[1], r: 8 }, over);
        element('text', { class: 'end-name', x: p[0], y: p[1] + 4 }, over).textContent = name;
      }
      if (this.marker !== null) {
        const t = this.marker;
        const p = camera.toScreen(this.line[0][0] + (this.line[1][0] - this.line[0][0]) * t, this.line[0][1] + (this.line[1][1] - this.line[0][1]) * t);
        element('circle', { class: 'marker', cx: p[0], cy: p[1], r: 4 }, over);
      }
    }
    if (!camera.lean) this.scaleBar(over);
    if (this.points.length) {
      const on = this.points.map((p) => camera.toScreen(...p));
      if (on.length === 2) {
        for (const kind of ['rule under', 'rule']) element('line', { class: kind, x1: on[0][0], y1: on[0][1], x2: on[1][0], y2: on[1][1] }, over);
      }
      for (const [x, y] of on) element('path', { class: 'cross', d: `M${x - 7} ${y}H${x + 7}M${x} ${y - 7}V${y + 7}` }, over);
    } else if (this.mode === 'measure' && document.activeElement === this.canvas) {
      const [x, y] = [camera.width / 2, camera.height / 2];
      element('path', { class: 'cross', d: `M${x - 7} ${y}H${x + 7}M${x} ${y - 7}V${y + 7}` }, over);
    }
  }
}
