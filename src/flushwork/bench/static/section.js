// @ts-check
// The section: the stack of surfaces along a line, to scale and with its depth exaggerated.

import { answered, ask, failed } from '/static/asked.js';
import { said } from '/static/board.js';

/** @typedef {import('/static/board.js').Board} Board */
/** @typedef {import('/static/board.js').Line} Line */
/** @typedef {{ material: string, colour: string, top: number[], there?: boolean }} Layer
 * its top in mm at each position; `there` whether it is thicker than nothing anywhere */
/** @typedef {{ mm: number, why: string, done: boolean, variation_mm: number }} Plane */
/** @typedef {{ face: string, length_mm: number, positions: number[], near: Layer[], far: Layer[], hole: number[], wood: string, species: string, planes: Plane[], least_wood_between_mm: { at: number, mm: number } | null, seams: { name: string, at: number, mm: number }[] }} Cut
 * a section as the bench tells it: the wood first in each stack, lengths in mm */
/** @typedef {(mm: number) => number} Height where a height lies in the picture */

/** @param {string} name */
const find = (name) => document.getElementById(name);
const UNSEEN_MS = 180;

// what heights and the ruler are written in, where there is no room for both
const UNIT = document.documentElement.dataset.units === 'inch'
  ? { name: 'in', words: 'inches', mm: 25.4, places: 3, steps: [0.125, 0.25, 0.5, 1, 2, 4, 8] }
  : { name: 'mm', words: 'mm', mm: 1, places: 2, steps: [1, 2, 5, 10, 20, 50, 100, 200] };

/** @param {number} mm */
function short(mm) { return (mm / UNIT.mm).toFixed(UNIT.places).replace('-', '−'); }

/** @param {string} hex */
function luminance(hex) {
  return [1, 3, 5].reduce((sum, at, i) => sum + (parseInt(hex.slice(at, at + 2), 16) / 255) ** 2.2 * [0.2126, 0.7152, 0.0722][i], 0);
}

// a length as it is typed, in mm: in the units of the page unless it says others
/** @param {string} text */
function lengthOf(text) {
  const [, figure, unit] = text.replace('−', '-').replace(',', '.').match(/^\s*(-?\d*\.?\d+)\s*(mm|cm|in|")?\s*$/) ?? [];
  return Number(figure ?? NaN) * ({ mm: 1, cm: 10, in: 25.4, '"': 25.4 }[unit] ?? UNIT.mm);
}

// the part of the wood that nothing reaches is left out, from so far beneath what is cut
const UNDER_MM = 1.2, TORN_PX = 16;

export class Section {
  /** @param {Board} board */
  constructor(board) {
    this.board = board;
    /** @type {HTMLCanvasElement} */
    this.canvas = find('cut');
    this.times = 8;
    /** @type {Line | null} where it is asked for, is drawn of, was drawn of */
    this.line = this.got = this.drawn = null;
    /** @type {number | null} the stage asked for next */
    this.wanted = null;
    this.asking = false;
    /** @type {number | null} the place pointed at, 0 to 1 */
    this.at = null;
    /** @type {{ from: number, to: number, gap: number } | null} the wood left out of the picture, mm */
    this.torn = null;
    /** @type {Set<number>} the columns where nothing is left */
    this.holes = new Set();
    /** @type {number[]} the columns at which a surface bends */
    this.corners = [];
    this.tall = 0;
    this.width = 1000;
    this.ink = this.soft = this.accent = '';
    /** @type {CanvasRenderingContext2D | undefined} */
    this.pen = undefined;
    /** @type {Map<string, CanvasPattern> | undefined} the wood of sections of one size */
    this.rings = undefined;
    /** @type {Cut | null} */
    this.data = null;
    this.middle = find('section-where').textContent;
    find('cut-depth').addEventListener('input', (event) => {
      this.times = Number(event.target.value);
      this.draw();
    });
    this.canvas.addEventListener('pointermove', (event) => {
      const box = this.canvas.getBoundingClientRect();
      this.point((event.clientX - box.left - this.left) / (box.width - this.left - this.right));
    });
    this.canvas.addEventListener('pointerleave', () => this.point(null));
    this.canvas.addEventListener('keydown', (event) => {
      const by = { ArrowRight: 0.01, ArrowLeft: -0.01 }[event.key];
      if (!by || !this.data) return;
      this.point(Math.min(1, Math.max(0, (this.at ?? 0.5) + by)));
      event.preventDefault();
    });
    find('line-form').addEventListener('submit', (event) => event.preventDefault());
    find('line-form').addEventListener('change', () => this.typed());
    new ResizeObserver(() => this.draw()).observe(this.canvas);
    new IntersectionObserver(([entry]) => {
      this.seen = entry.isIntersecting;
      if (this.seen && this.postponed) this.go();
    }, { rootMargin: '100px' }).observe(this.canvas);
    window.matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.draw());
    find('shade').addEventListener('change', () => this.draw());
  }

  left = 8;

  // on a phone the heights stand under the picture, which then has all the room
  get right() { return this.width < 560 ? 26 : 96 + 15 * UNIT.places; }

  // the ends of the line in figures, from the middle of the trim line, as places of the job are told
  figures() {
    const form = find('line-form'), { line, board } = this, [ox, oy] = board.origin;
    if (!line) return;
    for (const [at, end] of ['A', 'B'].entries()) {
      for (const [k, way] of ['right', 'up'].entries()) {
        const field = form.elements[`${end}-${way}`];
        if (field !== document.activeElement) field.value = short(line[at][k] - (k ? oy : ox));
      }
    }
    find('line-long').textContent = `${said(Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1]))} long`;
  }

  // a figure that is none leaves the line as it was
  typed() {
    const form = find('line-form'), [ox, oy] = this.board.origin;
    /** @param {string} end
     * @returns {[number, number]} */
    const typed = (end) => [ox + lengthOf(form.elements[`${end}-right`].value), oy + lengthOf(form.elements[`${end}-up`].value)];
    /** @type {Line} */
    const line = [typed('A'), typed('B')];
    if (line.flat().every(Number.isFinite)) this.board.lay(line);
    for (const field of form.elements) if (field.matches('input')) field.blur();
    this.figures();
  }

  /** @param {Line} line
   * @param {number} stage */
  along(line, stage) {
    this.line = line;
    this.figures();
    find('section-where').textContent = 'From A to B.';
    this.ask(stage);
  }

  // the other face has come up: the line was one on the face before
  /** @param {number} stage */
  turned(stage) {
    this.line = null;
    find('section-where').textContent = this.middle;
    this.generation = null;
    this.clear();
    this.show(stage);
  }

  // nothing is shown rather than what is not so
  clear() {
    Object.assign(this, { data: null, got: null, at: null, drawn: null });
    this.board.marker = null;
    this.canvas.getContext('2d').clearRect(0, 0, this.canvas.width, this.canvas.height);
    this.canvas.setAttribute('aria-label', 'No section is shown');
    for (const name of ['heights', 'column', 'cut-times']) find(name).textContent = '';
    find('cut-depth').removeAttribute('aria-valuetext');
  }

  /** @param {number} stage */
  show(stage) {
    if (!this.board.film) return;
    if (!this.board.line || this.generation !== this.board.film.generation) this.first();
    this.line = this.board.line;
    this.figures();
    clearTimeout(this.postponed);
    this.postponed = 0;
    this.stage = stage;
    // the stages go by and nobody looks here: asked for once one stays
    if (this.seen === false && this.data && performance.now() - (this.shown ?? -1e9) < UNSEEN_MS) this.postponed = setTimeout(() => this.go(), UNSEEN_MS);
    else this.ask(stage);
    this.shown = performance.now();
  }

  go() {
    clearTimeout(this.postponed);
    this.postponed = 0;
    this.ask(this.stage);
  }

  // until somebody drags a line: across the middle of the face
  first() {
    const { board } = this;
    this.generation = board.film.generation;
    if (board.line) return;
    // within what is left once it is trimmed
    const places = board.film.outline[board.face].flat(), xs = places.map(([x]) => x), ys = places.map(([, y]) => y);
    const [x0, x1, y] = [Math.min(...xs), Math.max(...xs), (Math.min(...ys) + Math.max(...ys)) / 2], off = (x1 - x0) * 0.03;
    board.line = [[x0 + off, y], [x1 - off, y]];
  }

  /** @param {number} stage */
  async ask(stage) {
    const { film, face } = this.board;
    if (!film || !this.line) return;
    this.wanted = stage;
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.wanted !== null) {
        const now = this.wanted, { line } = this, [a, b] = line;
        this.wanted = null;
        const { generation } = this.board.film, side = this.board.face;
        const spot = `x0=${a[0].toFixed(3)}&y0=${a[1].toFixed(3)}&x1=${b[0].toFixed(3)}&y1=${b[1].toFixed(3)}`;
        try {
          const data = await ask(`/board/${generation}/section?stage=${now}&face=${side}&${spot}`);
          answered('section');
          if (side === this.board.face) this.take(data, line);
        } catch (error) {
          this.clear();
          failed('section', `No section is shown: ${error.message}`);
          if (error.status === 410 && generation !== this.board.film.generation) this.wanted = now;
        }
      }
    } finally {
      this.asking = false;
    }
    if (face !== this.board.face) this.ask(stage);
  }

  // drawn at once, but no more often than it can be seen
  /** @param {Cut} data
   * @param {Line} line */
  take(data, line) {
    this.data = data;
    this.got = line;
    this.holes = new Set(data.hole);
    for (const layers of [data.near, data.far]) {
      layers.forEach((layer, k) => {
        layer.there = k === 0 || layer.top.some((mm, i) => Math.abs(mm - layers[k - 1].top[i]) > 1e-4);
      });
    }
    this.corners = this.cornersOf(data);
    this.read();
    if (this.drawing) { this.newer = true; return; }
    this.draw();
    this.drawing = requestAnimationFrame(() => {
      this.drawing = 0;
      if (this.newer) this.draw();
      this.newer = false;
    });
  }

  // the columns at which any surface bends or ends: between them all run straight
  /** @param {Cut} data */
  cornersOf({ near, far, positions }) {
    const tops = [...near, ...far].map((layer) => layer.top), last = positions.length - 1, found = [0];
    for (let i = 1; i < last; i++) {
      const share = (positions[i] - positions[i - 1]) / (positions[i + 1] - positions[i - 1]);
      /** @param {number[]} top */
      const bends = (top) => Math.abs(top[i - 1] + (top[i + 1] - top[i - 1]) * share - top[i]) > 1e-4;
      const hole = this.holes.has(i);
      if (hole !== this.holes.has(i - 1) || hole !== this.holes.has(i + 1) || tops.some(bends)) found.push(i);
    }
    found.push(last);
    return found;
  }

  /** @param {number | null} share */
  point(share) {
    this.at = share === null || share < 0 || share > 1 ? null : share;
    this.board.marker = this.at;
    this.board.soon();
    this.read();
    this.draw();
  }

  // what lies at the place pointed at, or that nothing does anywhere
  read() {
    const { data } = this;
    if (!data || this.at === null || this.at === undefined) {
      find('column').textContent = data && data.hole.length === data.positions.length ? 'Nothing of the board lies along this line.' : '';
      return;
    }
    const i = this.near(this.at);
    const layers = [];
    for (let k = data.near.length - 1; k > 0; k--) {
      const thick = data.near[k].top[i] - data.near[k - 1].top[i];
      if (thick > 0.001) layers.push(`${data.near[k].material} ${said(thick)}`);
    }
    const wood = data.near[0].top[i] - data.far[0].top[i];
    const hole = this.holes.has(i);
    find('column').textContent = hole ? `${said(data.positions[i])} from A: nothing is left here.`
      : `${said(data.positions[i])} from A: ${[...layers, `${data.species} ${said(wood)}`].join(' over ')}.`;
  }

  // the column nearest to a share of the line
  /** @param {number} share */
  near(share) {
    const { positions } = this.data, at = share * positions[positions.length - 1];
    let [low, high] = [0, positions.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (positions[middle] <= at) low = middle; else high = middle;
    }
    return at - positions[low] < positions[high] - at ? low : high;
  }

  draw() {
    const { canvas, data } = this, box = canvas.getBoundingClientRect();
    if (!data || !box.width) return;
    this.width = box.width;
    this.drawn = this.got;
    const ratio = window.devicePixelRatio || 1, style = getComputedStyle(document.documentElement);
    this.ink = style.getPropertyValue('--ink').trim();
    this.soft = style.getPropertyValue('--soft').trim();
    this.accent = style.getPropertyValue('--accent').trim();
    const inner = box.width - this.left - this.right, scale = inner / data.length_mm;
    const live = data.near[0].top.map((_, i) => !this.holes.has(i));
    const high = Math.max(0.2, ...data.near[data.near.length - 1].top.filter((_, i) => live[i]));
    const far = data.far[data.far.length - 1].top.filter((_, i) => live[i]);
    const low = far.length ? Math.min(...far) : -1;
    const plane = Math.max(...data.planes.map((p) => p.mm));
    const top = Math.max(high, plane) + 0.35;
    const trueHeight = (top - low) * scale;
    // where the faces keep well away from each other, the wood that nothing reaches is left out
    // the wall of a hole, cut in part, is no floor
    const beside_none = (_, i) => [-2, -1, 0, 1, 2].every((by) => !this.holes.has(i + by));
    const floor = Math.min(...data.near[0].top.filter(beside_none), top), roof = Math.max(...data.far[0].top.filter(beside_none), low);
    const [from, to] = [floor - UNDER_MM, roof + UNDER_MM];
    this.torn = from - to > 1 ? { from, to, gap: from - to } : null;
    // depth is exaggerated as asked, but the picture never grows taller than the screen bears
    const { most, truly } = this.room(trueHeight);
    const shown = (top - low - (this.torn?.gap ?? 0)) * scale, torn = this.torn ? TORN_PX : 0;
    const times = Math.min(this.times, (most - torn) / Math.max(1, shown));
    const tall = shown * times + torn;
    const height = this.fitted(Math.round(tall + (truly ? trueHeight + 92 : 52)));
    const pen = this.pen ??= canvas.getContext('2d');
    const pixels = [Math.round(box.width * ratio), Math.round(height * ratio)];
    if (canvas.width !== pixels[0] || canvas.height !== pixels[1]) [canvas.width, canvas.height] = pixels;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, box.width, height);
    pen.font = '13px Lato, sans-serif';
    this.stack(pen, 22, top, scale, scale * times, true);
    if (this.torn) this.tear(pen, this.heights(22, top, scale * times), inner);
    this.labels(pen, 22, top, scale, scale * times);
    pen.fillStyle = this.soft;
    // the slider says what is drawn, which may be less than what it asks for
    const told = times.toFixed(times < 10 ? 1 : 0);
    find('cut-times').textContent = told;
    find('cut-depth').setAttribute('aria-valuetext', `${told} times`);
    pen.fillText(`depth ${told} times`, this.left, 13);
    if (truly) {
      pen.fillText('to scale', this.left, tall + 50);
      this.stack(pen, tall + 60, top, scale, scale, false);
    }
    this.ruler(pen, scale, height - 4);
    canvas.setAttribute('aria-label', this.words());
  }

  // how tall the picture with its depth exaggerated may be, and whether one to scale fits below it
  /** @param {number} trueHeight */
  room(trueHeight) {
    const share = parseFloat(getComputedStyle(this.canvas).getPropertyValue('--room'));
    if (!share) return { most: 460, truly: true };
    const room = window.innerHeight * share, most = room - 92 - trueHeight, truly = most > 2 * trueHeight;
    return { most: truly ? most : room - 52, truly };
  }

  // while the line or the stage moves the picture only grows: all below it would be laid out anew
  /** @param {number} height */
  fitted(height) {
    clearTimeout(this.settling);
    const tall = this.tall ?? 0, steps = Math.ceil(height / 24) * 24;
    if (steps > tall) this.tall = steps;
    else if (steps < tall) this.settling = setTimeout(() => { this.tall = 0; this.draw(); }, 700);
    const shown = `${this.tall}px`;
    if (this.canvas.style.height !== shown) this.canvas.style.height = shown;
    return this.tall;
  }

  // where a height lies in the picture
  /** @param {number} y0
   * @param {number} top
   * @param {number} ky
   * @returns {Height} */
  heights(y0, top, ky) {
    const { torn } = this;
    if (!torn) return (mm) => y0 + (top - mm) * ky;
    return (mm) => {
      if (mm >= torn.from) return y0 + (top - mm) * ky;
      const edge = y0 + (top - torn.from) * ky;
      return mm <= torn.to ? edge + TORN_PX + (torn.to - mm) * ky : edge + TORN_PX * (torn.from - mm) / torn.gap;
    };
  }

  // the wood left out, as paper torn across
  /** @param {CanvasRenderingContext2D} pen
   * @param {Height} y
   * @param {number} width */
  tear(pen, y, width) {
    const zigzag = (y0, from, to, by) => { for (let x = from, n = 0; by > 0 ? x <= to : x >= to; x += by, n++) pen.lineTo(x, y0 + (n % 2) * 5); };
    const [over, under] = [y(this.torn.from) + 1, y(this.torn.to) - 6], right = this.left + width;
    pen.beginPath();
    zigzag(over, this.left - 2, right + 2, 9);
    zigzag(under, right + 2, this.left - 2, -9);
    pen.closePath();
    pen.fillStyle = getComputedStyle(document.documentElement).getPropertyValue('--page').trim();
    pen.fill();
    pen.strokeStyle = this.soft;
    pen.lineWidth = 0.7;
    pen.stroke();
    pen.lineWidth = 1;
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {number} y0
   * @param {number} top
   * @param {number} kx
   * @param {number} ky */
  labels(pen, y0, top, kx, ky) {
    this.seams(pen, y0, kx);
    this.planes(pen, this.heights(y0, top, ky), kx);
  }

  // the edges under seam lines: a mark on top, with its name where there is room for it
  /** @param {CanvasRenderingContext2D} pen
   * @param {number} y0
   * @param {number} kx */
  seams(pen, y0, kx) {
    pen.fillStyle = pen.strokeStyle = this.accent;
    const wide = pen.measureText('seam').width, marks = this.data.seams.map((seam) => [this.left + seam.at * kx, Math.max(2, seam.mm * kx / 2)]);
    marks.forEach(([x, half], at) => {
      pen.beginPath(); pen.moveTo(x - half, y0 - 1); pen.lineTo(x + half, y0 - 1); pen.moveTo(x, y0 - 5); pen.lineTo(x, y0 + 3); pen.stroke();
      const [next, broad] = marks[at + 1] ?? [1e9, 0];
      if (x + half + 6 + wide < next - broad) pen.fillText('seam', x + half + 3, y0 + 1);
    });
  }

  words() {
    const { data } = this, between = data.least_wood_between_mm, seams = new Set(data.seams.map((seam) => seam.name));
    const names = [...new Set(data.near.slice(1).map((l) => l.material))].join(', ') || 'bare wood';
    return `Section ${said(data.length_mm, 1)} long on the ${data.face}: ${names}` + (between ? `; least wood between the faces ${said(between.mm)}` : '')
      + (seams.size ? `; edges under ${[...seams].join(', ')}` : '');
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {number} y0
   * @param {number} top
   * @param {number} kx
   * @param {number} ky
   * @param {boolean} named */
  stack(pen, y0, top, kx, ky, named) {
    const { data, corners } = this, n = data.positions.length;
    /** @param {number} i */
    const x = (i) => this.left + data.positions[i] * kx;
    /** @type {Height} */
    const y = named ? this.heights(y0, top, ky) : (mm) => y0 + (top - mm) * ky;
    /** @param {number[]} above
     * @param {number[]} below */
    const band = (above, below) => {
      pen.beginPath();
      for (const i of corners) pen.lineTo(x(i), y(this.holes.has(i) ? below[i] : above[i]));
      for (let at = corners.length - 1; at >= 0; at--) pen.lineTo(x(corners[at]), y(below[corners[at]]));
      pen.closePath();
    };
    const far = data.far[0].top, wood = data.near[0].top;
    band(wood, far.map((f, i) => (this.holes.has(i) ? wood[i] : f)));
    pen.fillStyle = this.endGrain(pen, x(0), x(n - 1), y(Math.min(...far)));
    pen.fill();
    for (const layers of [data.near, data.far]) {
      for (let k = 1; k < layers.length; k++) {
        if (!layers[k].there) continue;
        const [above, below] = [layers[k].top, layers[k - 1].top];
        band(above, below);
        pen.fillStyle = layers[k].colour || 'rgba(190, 215, 235, 0.42)';
        pen.fill();
      }
    }
    this.surface(pen, x, y);
    if (named) this.between(pen, y);
    if (this.at !== null && this.at !== undefined && named) {
      const i = this.near(this.at);
      pen.strokeStyle = this.accent;
      pen.lineWidth = 1;
      pen.beginPath(); pen.moveTo(x(i), y0 - 4); pen.lineTo(x(i), y(Math.min(...far)) + 4); pen.stroke();
    }
  }

  // the rings of the cut wood, so that it reads as wood; drawn once for pictures of one size
  /** @param {CanvasRenderingContext2D} pen
   * @param {number} left
   * @param {number} right
   * @param {number} low */
  endGrain(pen, left, right, low) {
    const ratio = window.devicePixelRatio || 1, width = right - left, high = Math.ceil(low) + 4;
    const name = [this.data.wood, Math.round(width), high, ratio].join();
    this.rings ??= new Map();
    if (!this.rings.has(name)) {
      if (this.rings.size > 8) this.rings.clear();
      const wood = document.createElement('canvas');
      wood.width = Math.ceil((left + width) * ratio) + 2;
      wood.height = Math.ceil(high * ratio);
      const ring = wood.getContext('2d');
      ring.scale(ratio, ratio);
      ring.fillStyle = this.data.wood;
      ring.fillRect(0, 0, left + width + 2, high);
      ring.strokeStyle = 'rgba(60, 35, 15, 0.13)';
      const middle = left + width * 0.4, base = low + 60;
      for (let r = 40; r < width * 1.1; r += 9 + (r * 7919 % 5)) {
        ring.beginPath(); ring.ellipse(middle, base, r, r * 0.62, 0, Math.PI, 2 * Math.PI); ring.stroke();
      }
      const pattern = pen.createPattern(wood, 'no-repeat');
      pattern.setTransform(new DOMMatrix([1 / ratio, 0, 0, 1 / ratio, 0, 0]));
      this.rings.set(name, pattern);
    }
    return this.rings.get(name);
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {(column: number) => number} x
   * @param {Height} y */
  surface(pen, x, y) {
    const { data } = this;
    pen.strokeStyle = this.ink;
    pen.lineWidth = 1;
    const uppermost = data.near[data.near.length - 1].top, lowest = data.far[data.far.length - 1].top;
    for (const tops of [uppermost, lowest, data.near[0].top]) {
      pen.globalAlpha = tops === data.near[0].top ? 0.45 : 0.9;
      pen.beginPath();
      let last = -1;
      for (const i of this.corners) {
        // the wall of a hole goes right through, from one face to the other
        if (this.holes.has(i)) { if (last >= 0 && tops === uppermost) pen.lineTo(x(last), y(lowest[last])); last = -1; continue; }
        if (last < 0) pen.moveTo(x(i), y(i && tops === uppermost ? lowest[i] : tops[i]));
        pen.lineTo(x(i), y(tops[i]));
        last = i;
      }
      pen.stroke();
    }
    pen.globalAlpha = 1;
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {Height} y
   * @param {number} kx */
  planes(pen, y, kx) {
    const { data } = this, right = this.left + data.length_mm * kx, narrow = this.right < 100, heights = [];
    let last = -1e9;
    const ordered = [...data.planes].sort((a, b) => b.mm - a.mm);
    const told = new Set();
    for (const plane of ordered) {
      const at = y(plane.mm);
      if (told.has(plane.mm)) continue;
      told.add(plane.mm);
      if (plane.variation_mm) {
        // how far sandings vary: broad where the depth is shown many times
        pen.globalAlpha = 0.2;
        pen.fillStyle = this.accent;
        pen.fillRect(this.left, y(plane.mm + plane.variation_mm), right - this.left, Math.max(1, y(plane.mm - plane.variation_mm) - y(plane.mm + plane.variation_mm)));
        pen.globalAlpha = 1;
      }
      pen.strokeStyle = plane.done ? this.soft : this.accent;
      pen.setLineDash(plane.done ? [2, 4] : [6, 4]);
      pen.beginPath(); pen.moveTo(this.left, at); pen.lineTo(right + 6, at); pen.stroke();
      pen.setLineDash([]);
      const text = Math.max(at + 4, last + 15);
      pen.fillStyle = plane.done ? this.soft : this.accent;
      heights.push(`${plane.why} ${short(plane.mm)}${plane.variation_mm ? `±${short(plane.variation_mm)}` : ''}`);
      if (!narrow) pen.fillText(heights[heights.length - 1], right + 9, text);
      last = text;
    }
    // what is left out is told beside the tear, below the heights told there
    pen.fillStyle = this.soft;
    if (this.torn && !narrow) pen.fillText(`${short(this.torn.gap)} left out`, right + 9, Math.max((y(this.torn.from) + y(this.torn.to)) / 2 + 4, last + 15));
    const out = this.torn ? ` ${said(this.torn.gap)} of wood that nothing reaches is left out of the picture.` : '';
    find('heights').textContent = `Heights in ${UNIT.words}: ${heights.join(', ')}.${out}`;
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {Height} y */
  between(pen, y) {
    const between = this.data.least_wood_between_mm;
    if (!between) return;
    const { data } = this, i = data.positions.findIndex((p) => p >= between.at);
    if (i < 0 || data.near.length < 2 && data.far.length < 2) return;
    const kx = (this.canvas.getBoundingClientRect().width - this.left - this.right) / data.length_mm;
    const px = this.left + between.at * kx, [a, b] = [y(data.near[0].top[i]), y(data.far[0].top[i])];
    const dark = luminance(data.wood) < 0.3;
    pen.strokeStyle = pen.fillStyle = dark ? '#fff' : '#2a1a0e';
    pen.beginPath(); pen.moveTo(px, a + 3); pen.lineTo(px, b - 3); pen.stroke();
    const text = this.torn ? a + 12 : (a + b) / 2 + 4;
    const words = `least wood ${said(between.mm)}`, left = Math.max(this.left, Math.min(px + 7, this.left + data.length_mm * kx - 130));
    // legible over whatever lies there
    pen.save();
    pen.strokeStyle = data.wood;
    pen.lineWidth = 4;
    pen.lineJoin = 'round';
    pen.strokeText(words, left, text);
    pen.fillText(words, left, text);
    pen.restore();
  }

  /** @param {CanvasRenderingContext2D} pen
   * @param {number} scale
   * @param {number} y */
  ruler(pen, scale, y) {
    const { mm: unit, steps, name } = UNIT, step = steps.find((each) => each * unit * scale > 60) ?? steps.at(-1);
    pen.fillStyle = pen.strokeStyle = this.soft;
    for (let at = 0; at * unit <= this.data.length_mm; at += step) {
      const x = this.left + at * unit * scale;
      pen.fillRect(x, y - 18, 1, 5);
      // the last figure says of what
      pen.fillText((at + step) * unit > this.data.length_mm ? `${at} ${name}` : String(at), x + 3, y - 4);
    }
  }
}
