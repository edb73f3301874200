// Where things lie, by hand on the board: dragged, pinched, by keys, with what they snap to said in words.

import { said } from '/static/board.js';
import { under } from '/static/hand.js';

const find = (name) => document.getElementById(name);
const SVG = 'http://www.w3.org/2000/svg';
const SNAP_PX = 7;
const DRAG_PX = 4;
// an arrow moves by a millimetre, or by 1/16 in
const STEP_MM = document.documentElement.dataset.units === 'inch' ? 25.4 / 16 : 1;
const QUIET_MS = 400;
const TURN_DEG = 15;
const BARE = [Infinity, Infinity, -Infinity, -Infinity];

function element(name, attributes, parent) {
  const item = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) item.setAttribute(key, value);
  parent.append(item);
}

function boxOf(shapes) {
  return shapes.reduce(([x0, y0, x1, y1], shape) => {
    const r = shape.radius ?? 0, points = shape.at ?? shape.rings.flat();
    return points.reduce(([a, b, c, d], [x, y]) => [Math.min(a, x - r), Math.min(b, y - r), Math.max(c, x + r), Math.max(d, y + r)], [x0, y0, x1, y1]);
  }, BARE);
}

// where one side of a box may come to lie, and what that is called; a and b are its near and far edge
export function snapped(a, b, by, targets, near) {
  const middle = (a + b) / 2 + by;
  let best = { off: near, by, words: '', at: null };
  for (const { at, of, words } of targets) {
    const mine = { middle, near: a + by, far: b + by }[of], off = Math.abs(at - mine);
    if (off < best.off) best = { off, by: by + at - mine, words, at };
  }
  return best;
}

export class Placing {
  constructor(making) {
    Object.assign(this, { making, by: [0, 0], times: 1, held: new Map(), mates: [] });
    const { board } = making, { canvas } = board, before = board.after;
    board.after = () => { before(); this.draw(); };
    canvas.addEventListener('pointerdown', (event) => this.down(event));
    canvas.addEventListener('pointermove', (event) => this.move(event));
    for (const name of ['pointerup', 'pointercancel']) canvas.addEventListener(name, (event) => this.up(event));
    canvas.addEventListener('keydown', (event) => this.key(event), true);
    canvas.addEventListener('blur', () => this.commit());
    for (const button of document.querySelectorAll('[data-lie]')) button.addEventListener('click', () => this.lie(button.dataset.lie, button.dataset.by));
    const form = find('repeat-form'), { elements } = form;
    elements.way.addEventListener('change', () => {
      const way = elements.way.value;
      for (const name of ['columns', 'rows', 'pitch']) elements[name].parentElement.hidden = way !== 'rows';
      elements.around.parentElement.hidden = way !== 'around';
    });
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      const told = (names) => Object.fromEntries(names.map((name) => [name, elements[name].value.trim()]));
      const by = { rows: told(['columns', 'rows', 'pitch']), around: told(['around']), '': {} }[elements.way.value];
      this.change('repeat', { by }, elements.way.value ? 'Repeated; not saved yet.' : 'One of it; not saved yet.');
    });
  }

  get hand() { return this.making.hand; }

  get board() { return this.making.board; }

  get shapes() { return this.hand.index?.shapes ?? {}; }

  // what lies as one with the thing in hand, and how far things should stay from the edge
  know(key, told) {
    Object.assign(this, { knows: key, mates: told.mates, margin: told.margin, around: [...told.seen, ...told.stands], grain: told.grain });
    this.board.soon();
  }

  get group() {
    const key = this.hand.key, keys = this.knows === key ? this.mates : [key];
    return keys.filter((each) => this.shapes[each]);
  }

  get placeable() { return ['inlay', 'holes'].includes(this.hand.kind) && this.group.length > 0 && this.shapes[this.hand.key]?.face === this.board.face; }

  get placing() { return this.board.mode === 'place' && !this.board.camera.lean; }

  // the group where its text has it by now: the picture may still be that of before
  get box() {
    const [x0, y0, x1, y1] = boxOf(this.group.map((key) => this.shapes[key])), [dx, dy] = this.gone;
    return [x0 + dx, y0 + dy, x1 + dx, y1 + dy];
  }

  get gone() {
    if (this.goneOf !== this.hand.index || this.goneKey !== this.hand.key) Object.assign(this, { goneOf: this.hand.index, goneKey: this.hand.key, goneBy: [0, 0] });
    return this.goneBy;
  }

  get trim() { return this.board.film?.outline[this.board.face] ?? []; }

  at(event) {
    const box = this.board.canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  down(event) {
    if (!this.placing || event.button > 0) return;
    this.held.set(event.pointerId, this.at(event));
    if (this.held.size === 2) { this.gap = this.apart(); return; }
    if (this.held.size > 2) return;
    this.commit();
    const key = this.hand.at(event), place = this.board.camera.toBoard(...this.at(event));
    this.began = { at: this.at(event), place, pan: true };
    if (!key || !/^(inlay|holes)\//.test(key)) return;
    this.began.pan = false;
    this.hand.hold(key, true);
  }

  apart() {
    const [a, b] = [...this.held.values()];
    return Math.max(1, Math.hypot(a[0] - b[0], a[1] - b[1]));
  }

  move(event) {
    if (!this.held.has(event.pointerId) || !this.began) return;
    const now = this.at(event), was = this.held.get(event.pointerId), { camera } = this.board;
    this.held.set(event.pointerId, now);
    if (this.held.size === 2 && this.gap) { this.times = Math.min(20, Math.max(0.05, this.apart() / this.gap)); this.tell(`${Math.round(this.times * 100)} % of its size`); this.board.soon(); return; }
    if (this.began.pan) { camera.pan(now[0] - was[0], now[1] - was[1]); this.board.fitted = false; this.board.moving(); return; }
    if (!this.began.far && Math.hypot(now[0] - this.began.at[0], now[1] - this.began.at[1]) < DRAG_PX) return;
    this.began.far = true;
    if (!this.placeable) return;
    const place = camera.toBoard(...now);
    this.by = [place[0] - this.began.place[0], place[1] - this.began.place[1]];
    if (!event.altKey) this.snap();
    else this.tell(this.where());
    this.board.soon();
  }

  up(event) {
    this.held.delete(event.pointerId);
    if (this.held.size) return;
    this.began = this.gap = null;
    this.commit();
  }

  // ---- what it snaps to

  targets(axis) {
    const along = axis === 0, [x0, y0, x1, y1] = boxOf([{ rings: this.trim }]), [low, high] = along ? [x0, x1] : [y0, y1];
    const grain = this.grain === (along ? 'along the width' : 'along the length');
    const sides = along ? ['left', 'right'] : ['near', 'far'];
    const found = [
      { of: 'middle', at: (low + high) / 2, words: grain ? 'on the centre line along the grain' : 'on the centre line across the grain' },
      { of: 'near', at: low, words: `at the ${sides[0]} edge` }, { of: 'far', at: high, words: `at the ${sides[1]} edge` },
    ];
    if (this.margin?.length) {
      const inner = boxOf([{ rings: this.margin }]), [a, b] = along ? [inner[0], inner[2]] : [inner[1], inner[3]];
      found.push({ of: 'near', at: a, words: `at the margin on the ${sides[0]} side` }, { of: 'far', at: b, words: `at the margin on the ${sides[1]} side` });
    }
    const mine = this.box, group = new Set(this.group), beside = [[], []];
    for (const [key, shape] of Object.entries(this.shapes)) {
      if (group.has(key) || shape.face !== this.board.face) continue;
      const other = boxOf([shape]), name = key.split('/').slice(2).join('/'), [a, b] = along ? [other[0], other[2]] : [other[1], other[3]];
      found.push({ of: 'middle', at: (a + b) / 2, words: `in line with the middle of ${name}` });
      found.push({ of: 'near', at: a, words: `in line with the ${sides[0]} edge of ${name}` }, { of: 'far', at: b, words: `in line with the ${sides[1]} edge of ${name}` });
      const [low1, high1, low2, high2] = along ? [other[1], other[3], mine[1] + this.by[1], mine[3] + this.by[1]] : [other[0], other[2], mine[0] + this.by[0], mine[2] + this.by[0]];
      if (low1 < high2 && low2 < high1) { const middle = along ? (mine[0] + mine[2]) / 2 + this.by[0] : (mine[1] + mine[3]) / 2 + this.by[1]; beside[middle > (a + b) / 2 ? 0 : 1].push([a, b, name]); }
    }
    if (beside[0].length && beside[1].length) {
      const below = beside[0].reduce((best, each) => (each[1] > best[1] ? each : best)), above = beside[1].reduce((best, each) => (each[0] < best[0] ? each : best));
      found.push({ of: 'middle', at: (below[1] + above[0]) / 2, words: `with equal gaps to ${below[2]} and ${above[2]}` });
    }
    return found;
  }

  snap() {
    const near = SNAP_PX / this.board.camera.scale, [x0, y0, x1, y1] = this.box;
    const across = snapped(x0, x1, this.by[0], this.targets(0), near), up = snapped(y0, y1, this.by[1], this.targets(1), near);
    this.by = [across.by, up.by];
    this.lines = [across.at, up.at];
    const words = [across.words, up.words].filter(Boolean);
    this.tell(`${words.length ? `${words.join('; ')}; ` : ''}${this.where()}`);
  }

  // how far its middle is from the board's, and how near it comes to the trim line
  where() {
    const [x0, y0, x1, y1] = this.box, [a, b, c, d] = boxOf([{ rings: this.trim }]);
    const right = (x0 + x1 - a - c) / 2 + this.by[0], up = (y0 + y1 - b - d) / 2 + this.by[1];
    const rings = this.trim.map((ring) => [...ring, ring[0]]), [dx, dy] = [this.gone[0] + this.by[0], this.gone[1] + this.by[1]];
    let least = Infinity, out = false;
    for (const key of this.group) {
      const shape = this.shapes[key];
      for (const [x, y] of shape.at ?? shape.rings.flat()) {
        const { inside, far } = under({ rings }, x + dx, y + dy);
        least = Math.min(least, far - (shape.radius ?? 0));
        out ||= !inside;
      }
    }
    const edge = out ? 'it crosses the trim line' : `${said(Math.max(0, least), 1)} inside the trim line`;
    return `${said(right, 1)} right and ${said(up, 1)} up from the middle, ${edge}`;
  }

  tell(words) {
    const told = words ? words[0].toUpperCase() + words.slice(1) : '';
    if (this.board.readout.textContent !== told) this.board.readout.textContent = told;
  }

  // ---- keys

  key(event) {
    if (event.ctrlKey || event.metaKey || !this.board.film) return;
    const stop = () => { event.preventDefault(); event.stopImmediatePropagation(); };
    if (event.key === 'p') { stop(); this.board.setMode('place'); this.tell(this.placeable ? this.where() : 'Touch a thing, or take one in hand with n, and move it.'); return; }
    if (!this.placing || !this.placeable) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (arrow) {
      stop();
      const step = event.shiftKey ? STEP_MM / 10 : STEP_MM;
      this.by = [this.by[0] + arrow[0] * step, this.by[1] + arrow[1] * step];
      this.tell(this.where());
      clearTimeout(this.quiet);
      this.quiet = setTimeout(() => this.commit(), QUIET_MS);
      this.board.soon();
    } else if (event.key === '[' || event.key === ']') { stop(); this.lie('turn', event.key === '[' ? TURN_DEG : -TURN_DEG); } else if (event.key === 'c') { stop(); this.lie('middle'); }
  }

  // ---- acts, each a change of the text

  async change(how, body, words) {
    clearTimeout(this.quiet);
    const thing = this.hand.key;
    const now = await this.making.change('/making/lie', { thing, how, ...body }, words);
    if (now) document.documentElement.dataset.placed = (this.count = (this.count ?? 0) + 1);
    return now;
  }

  async commit() {
    clearTimeout(this.quiet);
    const [right, up] = this.by, { times } = this;
    if (times !== 1) {
      this.times = 1;
      await this.change('size', { by: Math.round(times * 1000) / 1000 }, 'Sized; not saved yet.');
    }
    if (Math.hypot(right, up) < 1e-4 || !this.placeable) { this.by = [0, 0]; this.lines = null; this.board.soon(); return; }
    // it stays where it was put, whatever the picture still shows
    const { gone } = this, words = this.where();
    gone[0] += right;
    gone[1] += up;
    this.by = [0, 0];
    this.lines = null;
    const now = await this.change('move', { right, up }, `${words[0].toUpperCase()}${words.slice(1)}; not saved yet.`);
    if (!now) { gone[0] -= right; gone[1] -= up; }
    this.board.soon();
  }

  async lie(how, by) {
    await this.commit();
    if (['middle', 'along', 'across'].includes(how)) {
      // worked out from the text itself: the picture may still be that of before
      await this.change('middle', { by: how === 'middle' ? 'both' : how }, 'In the middle; not saved yet.');
      return;
    }
    const words = { turn: 'Turned', mirror: 'Mirrored', size: 'Sized', off: 'Taken off the board' }[how];
    const now = await this.change(how, { by: ['turn', 'size'].includes(how) ? Number(by) : by }, `${words}; not saved yet.`);
    if (now && how === 'off') { this.hand.hold('new'); this.making.say('Taken off the board; not saved yet.'); }
  }

  // ---- what is drawn over the board while something is placed

  draw() {
    const over = find('placing'), { camera, film } = this.board;
    const [gx, gy] = this.placeable ? this.gone : [0, 0], [dx, dy] = [gx + this.by[0], gy + this.by[1]];
    const told = film && (this.placing || dx || dy) ? JSON.stringify([camera, this.board.face, this.hand.key, dx, dy, this.times, this.lines, this.margin?.length]) : '';
    if (told === this.drawn && this.hand.index === this.drawnOf) return;
    Object.assign(this, { drawn: told, drawnOf: this.hand.index });
    over.replaceChildren();
    if (!told) return;
    over.setAttribute('viewBox', `0 0 ${camera.width} ${camera.height}`);
    const path = (rings, x = 0, y = 0) => rings.map((ring) => `M${ring.map(([px, py]) => camera.toScreen(px + x, py + y).map((v) => v.toFixed(1)).join(' ')).join('L')}Z`).join('');
    if (this.placing) {
      element('path', { class: 'trim', d: path(this.trim) }, over);
      if (this.margin) element('path', { class: 'margin', d: path(this.margin) }, over);
      if (this.around) element('path', { class: 'around', d: path(this.around) }, over);
    }
    const [x, y] = this.lines ?? [null, null];
    if (x !== null) { const px = camera.toScreen(x, 0)[0]; element('line', { class: 'snap', x1: px, x2: px, y1: 0, y2: camera.height }, over); }
    if (y !== null) { const py = camera.toScreen(0, y)[1]; element('line', { class: 'snap', y1: py, y2: py, x1: 0, x2: camera.width }, over); }
    if (!this.placeable || (!dx && !dy && this.times === 1)) return;
    const [x0, y0, x1, y1] = this.box, [cx, cy] = [(x0 + x1) / 2 - gx, (y0 + y1) / 2 - gy];
    const bigger = ([px, py]) => [cx + (px - cx) * this.times, cy + (py - cy) * this.times];
    for (const key of this.group) {
      const shape = this.shapes[key];
      for (const [px, py] of shape.at ?? []) { const [sx, sy] = camera.toScreen(px + dx, py + dy); element('circle', { class: 'ghost', cx: sx, cy: sy, r: Math.max(2, shape.radius * camera.scale) }, over); }
      const d = path((shape.rings ?? []).map((ring) => ring.map(bigger)), dx, dy);
      if (d) for (const name of ['ground', 'ghost']) element('path', { class: name, d }, over);
    }
  }
}
