// @ts-check
// Several pieces from one plank: laid on it at once, their names, and where nothing may lie, drawn on the wood.

import { ask } from '/static/asked.js';
import { made } from '/static/filling.js';

/** @typedef {[number, number]} Point */
/** @typedef {{ number: number, name: string, rings: Point[][] }} Piece */
/** @typedef {{ size: Point, along: boolean, wood: string, margin: number, gap: string, said: string, names: string[],
 *   pieces: Piece[], inlays: { colour: string, rings: Point[][] }[], defects: { rings: Point[][], told: string }[],
 *   texts: [string, string][], keys: Record<string, string> }} Laid */

const find = (/** @type {string} */ name) => /** @type {any} */ (document.getElementById(name));
const inch = document.documentElement.dataset.units === 'inch';
const SVG = 'http://www.w3.org/2000/svg';
const STEP_MM = inch ? 25.4 / 16 : 1;
const DRAG_PX = 5;
// so long nobody types before what is typed so far is laid out
const QUIET_MS = 250;
const NAMED = '<name>';

/** @param {string} name @param {Record<string, string | number>} attributes @param {Element} parent */
function shape(name, attributes, parent) {
  const item = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) item.setAttribute(key, String(value));
  parent.append(item);
  return item;
}

// a length as it is written in the job
const long = (/** @type {number} */ mm) => (inch ? `${Number((mm / 25.4).toFixed(3))} in` : `${Number(mm.toFixed(1))} mm`);

/** A plank with its pieces, as large as there is room for, its near edge below.
 * @param {Laid} laid @param {Element} place */
export function drawPlank(laid, place) {
  const [wide, high] = laid.size, rim = Math.max(wide, high) * 0.03;
  const path = (/** @type {Point[][]} */ rings) => rings.map((ring) => `M${ring.map(([x, y]) => `${x} ${(high - y).toFixed(2)}`).join('L')}Z`).join('');
  place.replaceChildren();
  place.setAttribute('viewBox', `${-rim} ${-rim} ${wide + 2 * rim} ${high + 2 * rim}`);
  shape('rect', { width: wide, height: high, fill: laid.wood, class: 'wood' }, place);
  for (let at = 1; at < 12; at++) {
    const bend = 0.2 * Math.sin(at * 7), [a, b] = [at / 12, (at + bend) / 12];
    const line = laid.along ? { x1: 0, x2: wide, y1: high * a, y2: high * b } : { y1: 0, y2: high, x1: wide * a, x2: wide * b };
    shape('line', { ...line, stroke: '#000', 'stroke-opacity': 0.12, 'stroke-width': Math.min(wide, high) / 220 }, place);
  }
  const { margin } = laid;
  if (margin > 0 && margin * 2 < Math.min(wide, high)) shape('rect', { class: 'margin', x: margin, y: margin, width: wide - 2 * margin, height: high - 2 * margin }, place);
  for (const { rings } of laid.pieces) shape('path', { class: 'piece', d: path(rings) }, place);
  for (const { colour, rings } of laid.inlays) shape('path', { class: 'inlay', d: path(rings), fill: colour, 'fill-rule': 'evenodd' }, place);
  for (const { number, name, rings } of laid.pieces) {
    const xs = rings[0].map(([x]) => x), ys = rings[0].map(([, y]) => y);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const told = laid.pieces.length > 1 ? `${number}${name ? ` ${name}` : ''}` : name, size = Math.min((y1 - y0) / 7, 1.5 * (x1 - x0) / Math.max(6, told.length));
    const words = shape('text', { x: (x0 + x1) / 2, y: high - y0 - size * 0.9, 'font-size': size }, place);
    words.textContent = told;
  }
  laid.defects.forEach(({ rings, told }, at) => {
    const group = shape('g', { class: 'defect', tabindex: 0, role: 'button', 'data-number': at + 1, 'aria-label': `Nothing lies here: ${told}` }, place);
    shape('path', { d: path(rings) }, group);
  });
}

export class Plank {
  /** @param {any} making */
  constructor(making) {
    this.making = making;
    this.board = find('plank-board');
    this.form = find('plank-form');
    this.defect = find('defect-form');
    /** @type {Laid | null} */
    this.laid = null;
    // what is drawn: of what is typed too
    /** @type {Laid | null} */
    this.seen = null;
    this.asked = 0;
    this.shown = '';
    this.quiet = 0;
    /** @type {{ place: Point, at: Point, number: number, far: boolean } | null} */
    this.began = null;
    this.count = 0;
    this.form.addEventListener('submit', (/** @type {Event} */ event) => { event.preventDefault(); this.lay(); });
    this.form.addEventListener('change', () => {
      const { many, names } = this.form.elements;
      this.asks();
      // names are still to come
      if (many.value === 'names' && !names.value.trim()) names.focus(); else this.lay();
    });
    this.form.addEventListener('input', () => { clearTimeout(this.quiet); this.quiet = window.setTimeout(() => this.sketch(), QUIET_MS); });
    this.defect.elements.shape.addEventListener('change', () => {
      const round = this.defect.elements.shape.value === 'circle';
      this.defect.elements.high.parentElement.hidden = round;
      this.defect.elements.across.parentElement.firstChild.textContent = round ? 'Across ' : 'Along the length ';
    });
    this.defect.addEventListener('submit', (/** @type {Event} */ event) => {
      event.preventDefault();
      const told = (/** @type {string} */ name) => this.defect.elements[name].value.trim(), round = told('shape') === 'circle';
      const drawn = round ? { circle: told('across') } : { rectangle: `${told('across')} x ${told('high')}` };
      this.mark({ ...drawn, at: [told('right'), told('up')], from: 'lower left' });
    });
    const { board } = this;
    board.addEventListener('pointerdown', (/** @type {PointerEvent} */ event) => this.down(event));
    board.addEventListener('pointermove', (/** @type {PointerEvent} */ event) => this.move(event));
    board.addEventListener('pointerup', (/** @type {PointerEvent} */ event) => this.up(event));
    board.addEventListener('pointercancel', () => { this.began = null; this.draw(); });
    board.addEventListener('keydown', (/** @type {KeyboardEvent} */ event) => this.key(event));
    document.addEventListener('held', () => this.look());
    document.addEventListener('taken', () => this.look());
  }

  get here() { return this.making.hand.key === 'plank' && !this.making.blank; }

  // the plank of the text as it stands
  async look(anew = false) {
    const { text } = this.making, words = text.area.value;
    if (!this.here || (this.shown === words && !anew)) return;
    const told = await this.ask({ act: 'look' }, words);
    if (told) this.take(told.plank, words);
  }

  /** What the bench answers; null where something was asked since, or it could not be.
   * @param {Record<string, unknown>} body @param {string} words */
  async ask(body, words) {
    const { text } = this.making, mine = (this.asked += 1);
    const told = await ask('/making/plank', text.sent({ text: words, units: inch ? 'inch' : 'metric', ...body })).catch((/** @type {Error} */ error) => error);
    if (mine !== this.asked) return null;
    if (told instanceof Error) { this.making.say(told.message, true); return null; }
    return told;
  }

  /** @param {Laid} laid @param {string} words */
  take(laid, words) {
    const { elements } = this.form, { keys } = laid;
    this.shown = words;
    this.laid = laid;
    const put = (/** @type {string} */ name, /** @type {string} */ value) => { if (elements[name] !== document.activeElement) elements[name].value = value; };
    put('long', keys.length ?? long(laid.size[0]));
    put('width', keys.width ?? long(laid.size[1]));
    put('grain', laid.along ? 'along the length' : 'along the width');
    put('outline', keys.circle ? 'circle' : keys.rectangle ? 'rectangle' : '');
    put('outline-size', keys.circle ?? keys.rectangle ?? '');
    this.outlined = elements.outline.value;
    put('many', laid.names.length ? 'names' : keys.pieces ? 'pieces' : '');
    if (keys.pieces) put('pieces', keys.pieces);
    put('names', laid.names.join('\n'));
    put('gap', keys.gap ?? '');
    put('margin', keys.margin ?? '');
    put('turned', keys.turned ?? 'half');
    elements.gap.placeholder = laid.gap;
    const texts = laid.texts.some(([, told]) => told.includes(NAMED)) ? [] : laid.texts;
    elements.thing.replaceChildren(new Option(texts.length === laid.texts.length ? 'new words' : 'the words that hold them', ''), ...texts.map(([key, told]) => new Option(`the words “${told}”`, key)));
    this.asks();
    this.draw(laid);
    this.said(laid);
    find('defects').replaceChildren(...laid.defects.map(({ told }, at) => {
      const row = made('li'), out = made('button', 'Take it away');
      out.setAttribute('type', 'button');
      out.setAttribute('aria-label', `Take away: ${told}`);
      out.addEventListener('click', () => this.act({ act: 'out', number: at + 1 }, 'Taken away; not saved yet.'));
      row.append(made('span', told), out);
      return row;
    }));
    document.documentElement.dataset.laid = String(this.count += 1);
  }

  /** @param {Laid} laid */
  said(laid) { find('plank-laid').textContent = laid.said; }

  // which fields the answers so far call for
  asks() {
    const { elements } = this.form, many = elements.many.value;
    elements.pieces.parentElement.hidden = many !== 'pieces';
    elements.names.parentElement.hidden = many !== 'names';
    elements.thing.parentElement.hidden = many !== 'names';
    const size = elements['outline-size'], outline = elements.outline.value;
    size.parentElement.hidden = !outline;
    if (outline && (this.outlined !== outline || !size.value)) size.value = { circle: inch ? '3.5 in' : '90 mm', rectangle: inch ? '4.5 in x 2 in' : '110 mm x 50 mm' }[/** @type {'circle' | 'rectangle'} */ (outline)];
    this.outlined = outline;
  }

  get answers() {
    const { elements } = this.form, told = (/** @type {string} */ name) => elements[name].value.trim(), many = told('many');
    const keys = { length: told('long'), width: told('width'), gap: told('gap'), margin: told('margin') };
    const listed = elements.names.value.trim(), names = many === 'names' ? listed.split(listed.includes('\n') ? /[\n\t;]+/ : /[,\t;]+/).map((/** @type {string} */ each) => each.trim()).filter(Boolean) : [];
    const was = this.laid?.keys ?? {}, outline = told('outline') && told('outline-size') !== was[told('outline')] ? { 'trim line': { [told('outline')]: told('outline-size') } } : {};
    const turned = told('turned') === 'half' ? '' : told('turned');
    // what is as it was stays as it is written
    const grain = this.laid && told('grain') === (this.laid.along ? 'along the length' : 'along the width') ? {} : { grain: told('grain') };
    const known = this.laid?.names ?? [], renamed = names.join('\n') !== known.join('\n') || told('thing');
    return { act: 'lay', keys: { ...keys, ...outline, ...grain, turned, pieces: many === 'pieces' ? told('pieces') : '' }, names: renamed ? names : null, thing: told('thing') };
  }

  // what is typed so far, only drawn
  async sketch() {
    const { many, names } = this.form.elements;
    if (!this.here || (many.value === 'names' && !names.value.trim())) return;
    const told = await this.ask(this.answers, this.making.text.area.value);
    if (!told) return;
    this.making.say('');
    this.draw(told.plank);
    this.said(told.plank);
  }

  lay() { return this.act(this.answers, 'Laid on it; not saved yet.'); }

  /** One change of the text.
   * @param {Record<string, unknown>} body @param {string} words */
  async act(body, words) {
    clearTimeout(this.quiet);
    this.asked += 1;
    const { making } = this, before = making.text.area.value, now = await making.change('/making/plank', body);
    if (!now) { this.draw(); return null; }
    making.say(now.text === before ? '' : words);
    this.take(now.plank, now.text);
    return now;
  }

  /** @param {Record<string, unknown>} defect */
  async mark(defect) {
    const before = this.laid?.pieces.length ?? 0, now = await this.act({ act: 'defect', defect }, 'Nothing lies there now; not saved yet.');
    if (now && now.plank.pieces.length < before) this.making.say(`Nothing lies there now: ${now.plank.pieces.length} of ${before} pieces find room, and that many are asked for; not saved yet.`);
    return now;
  }

  /** @param {Laid | null} [laid] */
  draw(laid = this.laid) {
    if (!laid) return;
    this.seen = laid;
    const held = /** @type {HTMLElement | null} */ (document.activeElement)?.closest?.('#plank-board .defect')?.getAttribute('data-number');
    drawPlank(laid, this.board);
    if (held) this.board.querySelector(`[data-number="${held}"]`)?.focus();
    this.board.setAttribute('aria-label', `The plank, ${long(laid.size[0])} by ${long(laid.size[1])}, with ${laid.pieces.length === 1 ? 'one piece' : `${laid.pieces.length} pieces`}`);
  }

  // ---- by pointer and keys, on the wood

  /** @param {PointerEvent} event @returns {Point} */
  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.board.getScreenCTM().inverse());
    return [point.x, (this.seen?.size[1] ?? 0) - point.y];
  }

  /** @param {PointerEvent} event */
  down(event) {
    if (event.button > 0 || !this.seen) return;
    const held = /** @type {Element} */ (event.target).closest('.defect');
    this.began = { place: this.at(event), at: [event.clientX, event.clientY], number: Number(held?.getAttribute('data-number') ?? 0), far: false };
    if (!held) this.board.focus({ preventScroll: true });
    this.board.setPointerCapture(event.pointerId);
  }

  /** @param {PointerEvent} event */
  move(event) {
    const { began, seen: laid } = this;
    if (!began || !laid) return;
    began.far ||= Math.hypot(event.clientX - began.at[0], event.clientY - began.at[1]) > DRAG_PX;
    if (!began.far) return;
    const [x, y] = this.at(event);
    if (began.number) {
      const group = this.board.querySelector(`[data-number="${began.number}"]`);
      group?.setAttribute('transform', `translate(${x - began.place[0]} ${began.place[1] - y})`);
      return;
    }
    const box = this.boxed(began.place, [x, y]), high = laid.size[1];
    const drawn = this.board.querySelector('.drawn') ?? shape('rect', { class: 'drawn' }, this.board);
    for (const [name, value] of Object.entries({ x: box[0], y: high - box[3], width: box[2] - box[0], height: box[3] - box[1] })) drawn.setAttribute(name, String(value));
    find('plank-said').classList.remove('amiss');
    find('plank-said').textContent = `${long(box[0])} from the left end, ${long(box[1])} from the near edge, ${long(box[2] - box[0])} by ${long(box[3] - box[1])}`;
  }

  /** @param {Point} a @param {Point} b @returns {[number, number, number, number]} */
  boxed(a, b) {
    const [wide, high] = this.seen?.size ?? [0, 0], within = (/** @type {number} */ v, /** @type {number} */ most) => Math.min(most, Math.max(0, v));
    const [x0, x1] = [within(a[0], wide), within(b[0], wide)], [y0, y1] = [within(a[1], high), within(b[1], high)];
    return [Math.min(x0, x1), Math.min(y0, y1), Math.max(x0, x1), Math.max(y0, y1)];
  }

  /** @param {PointerEvent} event */
  async up(event) {
    const { began } = this;
    this.began = null;
    if (!began) return;
    if (!began.far) { if (began.number) this.board.querySelector(`[data-number="${began.number}"]`)?.focus(); return; }
    const now = this.at(event);
    if (began.number) { await this.shift(began.number, now[0] - began.place[0], now[1] - began.place[1]); return; }
    const [x0, y0, x1, y1] = this.boxed(began.place, now);
    if (x1 - x0 < 0.5 || y1 - y0 < 0.5) { this.draw(); return; }
    await this.mark({ rectangle: `${long(x1 - x0)} x ${long(y1 - y0)}`, at: [long(x0), long(y0)], from: 'lower left' });
  }

  /** @param {number} number @param {number} right @param {number} up */
  shift(number, right, up) { return this.act({ act: 'move', number, right: Math.round(right * 100) / 100, up: Math.round(up * 100) / 100 }, 'Moved; not saved yet.'); }

  /** @param {KeyboardEvent} event */
  key(event) {
    if ((event.ctrlKey || event.metaKey) && event.key === 'z') { event.preventDefault(); this.making.takeBack(); return; }
    const number = Number(/** @type {Element} */ (event.target).closest?.('.defect')?.getAttribute('data-number') ?? 0);
    if (!number) return;
    /** @type {Record<string, Point>} */
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const arrow = arrows[event.key], step = event.shiftKey ? STEP_MM / 10 : STEP_MM;
    if (arrow) { event.preventDefault(); this.shift(number, arrow[0] * step, arrow[1] * step); }
    if (event.key === 'Delete' || event.key === 'Backspace') { event.preventDefault(); this.act({ act: 'out', number }, 'Taken away; not saved yet.'); }
  }
}
