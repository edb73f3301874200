// @ts-check
// What is in hand: one thing, its sheet beside the wood, and the same thing lit wherever it is shown.

import { answered, ask, failed } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const units = document.documentElement.dataset.units;
// what is no thing of the job but a sheet of its own; some bring another with them
const SHEETS = { today: [], begin: [], new: [], plank: [], check: [], odds: [], text: [], cuts: ['writing'], pours: ['colours'], days: [], wood: [], compare: [], beside: [] };
// things that have a part of a sheet besides their own
const WITHIN = { finding: 'check', setup: 'cuts', pour: 'pours', day: 'days', inlay: 'by-hand', holes: 'by-hand', plank: 'new' };
// all on one page, as on paper: nothing is laid away
const LONG = 'long' in document.documentElement.dataset;
const NEAR_PX = 7;
const PIN_PX = 14;
// from this many pixels of the screen on to one of the picture, edges are drawn as lines
const EDGE_PX = 1.6;
const LOOK = 'where this page looked';
const SCROLLED = 'how far the sheets were scrolled';

export function addressOf(key) { return `#${key.split('/').map(encodeURIComponent).join('/')}`; }

export function keyOf(hash) {
  try { return hash.slice(1).split('/').map(decodeURIComponent).join('/'); } catch { return ''; }
}

function read(name) {
  try { return JSON.parse(sessionStorage.getItem(name)) ?? {}; } catch { return {}; }
}

function left(seconds) {
  const s = Math.abs(Math.round(seconds)), h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  if (h >= 48) return `${Math.floor(h / 24)} days ${h % 24} h`;
  return h ? `${h} h ${String(m).padStart(2, '0')} min` : `${m}:${String(s % 60).padStart(2, '0')}`;
}

// how far a place is from the line between two others
function apart(x, y, [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay], long = dx * dx + dy * dy;
  const t = long ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
  return Math.hypot(x - ax - t * dx, y - ay - t * dy);
}

// whether a place lies in a shape, and how far from its edge; its size decides between two
export function under(shape, x, y) {
  if (shape.at) {
    const far = Math.min(...shape.at.map(([cx, cy]) => Math.hypot(x - cx, y - cy)));
    return { inside: far <= shape.radius, far: Math.max(0, far - shape.radius) };
  }
  let inside = false, far = Infinity;
  for (const ring of shape.rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const [a, b] = [ring[i], ring[i + 1]];
      if ((a[1] > y) !== (b[1] > y) && x < (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) + a[0]) inside = !inside;
      far = Math.min(far, apart(x, y, a, b));
    }
  }
  return { inside, far };
}

function sizeOf(shape) {
  if (shape.at) return Math.PI * shape.radius ** 2;
  return Math.abs(shape.rings.reduce((sum, ring) => sum + ring.slice(1).reduce((area, [x, y], i) => area + (ring[i][0] * y - x * ring[i][1]) / 2, 0), 0));
}

export class Hand {
  constructor(board, strip, text) {
    this.board = board;
    this.strip = strip;
    this.text = text;
    this.key = '';
    this.index = null;
    this.asked = 0;
    this.timers = [];
    this.sheets = find('sheets');
    this.arranged = this.ticked = () => {};
    this.look = read(LOOK);
    window.addEventListener('hashchange', () => this.fromAddress());
    window.addEventListener('pagehide', () => this.remember());
    this.sheets.addEventListener('scroll', () => { this.scrolled = { ...this.scrolled, [this.key]: this.sheets.scrollTop }; }, { passive: true });
    this.scrolled = read(SCROLLED);
    // two states are compared as long as their sheet is in hand: the strip then chooses one of them
    strip.taken = (stage, quiet) => { if (this.key !== 'compare') this.hold(`stage/${stage}`, quiet); };
    find('strip').addEventListener('click', (event) => {
      const name = event.target.closest?.('.setup-name'), setup = name?.parentElement.dataset.setup;
      if (setup) this.hold(`setup/${setup}`);
    });
    board.lights = (over, element) => this.draw(over, element);
    board.canvas.addEventListener('click', (event) => { if (board.mode === 'move' && !board.dragged) this.touch(event); });
    board.canvas.addEventListener('pointermove', (event) => this.hover(event));
    board.canvas.addEventListener('pointerleave', () => this.over(''));
    board.canvas.addEventListener('keydown', (event) => this.keys(event));
    this.fromAddress();
    setInterval(() => this.clocks(), 1000);
  }

  remember() {
    const { board, strip } = this;
    if (!board.film) return;
    try {
      sessionStorage.setItem(LOOK, JSON.stringify({ stage: strip.stage, face: board.face }));
      sessionStorage.setItem(SCROLLED, JSON.stringify(this.scrolled));
    } catch { /* no room: it opens where the work is */ }
  }

  // take something in hand; quietly where one thing follows the other, so that Back skips them
  hold(key, quiet = false) {
    if (LONG) return;
    const address = addressOf(key);
    if (location.hash === address) { this.fromAddress(); return; }
    if (!quiet) { location.hash = address; return; }
    history.replaceState(history.state, '', address);
    this.fromAddress(true);
  }

  fromAddress(quiet = false) {
    const key = keyOf(location.hash);
    if (LONG) return;
    if (key === 'board') { this.board.canvas.focus({ preventScroll: true }); return; }
    const known = key in SHEETS || key.includes('/') ? key : 'today', anew = known !== this.key;
    this.key = known;
    const had = this.sheets.contains(document.activeElement) || document.activeElement?.closest?.('.contents');
    this.arrange();
    if (anew) this.find(quiet);
    if (anew) this.sheets.scrollTop = this.scrolled[known] ?? 0;
    if (anew && had && !quiet) this.sheets.focus({ preventScroll: true });
    if (!(known in SHEETS)) this.fetch(); else if (known === 'today') this.today();
    this.light();
    if (anew) document.dispatchEvent(new CustomEvent('held'));
  }

  get kind() { return this.key.split('/')[0]; }

  // which sheets lie there, and which part of them
  arrange() {
    const { key, kind } = this, thing = !(key in SHEETS), within = WITHIN[kind];
    const there = new Set(thing ? ['thing', within] : [key, ...SHEETS[key]]);
    for (const sheet of document.querySelectorAll('.sheet-of')) {
      const one = thing && sheet.id === within;
      sheet.classList.toggle('away', !there.has(sheet.id));
      sheet.classList.toggle('one', one);
      for (const part of sheet.querySelectorAll('[data-thing]')) part.classList.toggle('in-hand', one && part.dataset.thing === key);
    }
    document.documentElement.dataset.hand = kind;
    this.arranged();
    for (const link of document.querySelectorAll('[data-sheet]')) {
      if (link.dataset.sheet === (within ?? key)) link.setAttribute('aria-current', 'true'); else link.removeAttribute('aria-current');
    }
    if (find('thing').dataset.thing !== key) find('thing').replaceChildren();
    find('text').classList.toggle('now', key === 'text');
    if (key === 'text') { this.text.number(); this.text.editor.open(); }
  }

  // the board shows what was taken: its face, and a stage at which it is there
  find(quiet) {
    const { board, strip } = this;
    if (!board.film) return;
    const stages = this.stages, shape = this.index?.shapes[this.key];
    if (this.kind === 'stage') { if (!quiet && strip.stage !== stages[0]) strip.go(stages[0]); }
    else if (stages.length && this.kind !== 'day' && strip.stage < stages[0]) strip.go(stages.at(-1));
    const face = shape?.face ?? (board.pins.find((pin) => pin.key === this.key)?.face || this.faceOf(stages));
    if (face && face !== board.face && !this.strip.dragging) board.turnOver(face);
  }

  get stages() {
    const own = this.kind === 'stage' ? [this.key] : this.tied.filter((key) => key.startsWith('stage/'));
    return own.map((key) => Number(key.split('/')[1]));
  }

  get tied() { return this.index?.ties[this.key] ?? []; }

  faceOf(stages) {
    const faces = new Set(stages.map((stage) => document.querySelector(`#reel [data-stage="${stage}"]`)?.dataset.face));
    return faces.size === 1 ? [...faces][0] : undefined;
  }

  // a new picture: what is in hand is asked for again, of that one
  take(generation, parts) {
    if (LONG) return;
    this.generation = generation;
    this.coarse = parts.coarse;
    this.kept = parts.kept;
    this.arrange();
    if (!parts.kept && !(this.key in SHEETS)) this.fetch();
    if (!parts.kept && this.key === 'today') this.today();
    this.light();
  }

  // what lies where, for touching and lighting; nobody waits for it
  async learn(generation) {
    if (LONG) return;
    const index = await ask(`/thing/${generation}/index?units=${units}`).catch((error) => error);
    if (generation !== this.generation) return;
    if (index instanceof Error) { if (index.status !== 410) failed('things', `What is touched cannot be told: ${index.message}`); return; }
    answered('things');
    const first = !this.index;
    this.index = index;
    this.sizes = Object.fromEntries(Object.entries(index.shapes).map(([key, shape]) => [key, sizeOf(shape)]));
    if (first && !this.look.face) this.find(true);
    if (this.steps) this.step(this.here(), this.steps);
    this.steps = 0;
    this.light();
  }

  async fetch() {
    const { key, generation } = this;
    if (!generation || this.kept) return;
    this.asked += 1;
    const mine = this.asked, told = await ask(`/thing/${generation}/of/${addressOf(key).slice(1)}?units=${units}`).catch((error) => error);
    if (mine !== this.asked || key !== this.key || told.status === 410) return;
    const place = find('thing');
    if (told instanceof Error) { place.textContent = told.message[0].toUpperCase() + told.message.slice(1); return; }
    // what is being typed in its form is not taken away
    const typing = place.contains(document.activeElement) && document.activeElement.dataset.path, form = place.querySelector('.thing-fields');
    const said = place.querySelector('output')?.textContent;
    if (place.told === told.html && place.dataset.thing === key) { this.light(); return; }
    place.told = told.html;
    place.dataset.thing = key;
    if (typing && form) this.around(place, form, told.html); else place.innerHTML = told.html;
    if (said && place.querySelector('output')) place.querySelector('output').textContent = said;
    if (this.scrolled[key] && this.sheets.scrollTop === 0) this.sheets.scrollTop = this.scrolled[key];
    this.text.form();
    this.light();
    document.dispatchEvent(new CustomEvent('in-hand', { detail: key }));
  }

  // everything of a sheet but the form that somebody types in
  around(place, form, html) {
    const fresh = document.createElement('div');
    fresh.innerHTML = html;
    for (const old of [...place.children]) if (old !== form && old.tagName !== 'OUTPUT') old.remove();
    let before = true;
    for (const part of [...fresh.children]) {
      if (part.matches('.thing-fields')) before = false;
      else if (part.tagName !== 'OUTPUT' && before) form.before(part);
      else if (part.tagName !== 'OUTPUT') place.append(part);
    }
  }

  async today() {
    const { generation } = this;
    if (!generation || this.kept) return;
    const told = await ask(`/thing/${generation}/today?units=${units}`).catch((error) => error);
    if (told.status === 410 || generation !== this.generation) return;
    if (told instanceof Error) { failed('today', `Today is not shown: ${told.message}`); return; }
    answered('today');
    const place = find('today');
    if (place.told !== told.html) { place.told = told.html; place.innerHTML = told.html; }
    this.timers = told.timers;
    this.clocks();
    this.light();
    return told;
  }

  // something was ticked, or a clock begun, here or on a phone
  logged(stamp) {
    if (stamp === this.stamp) return;
    const first = this.stamp === undefined;
    this.stamp = stamp;
    if (!first) { this.today(); this.ticked(); }
  }

  clocks() {
    const line = find('clocks'), place = find('today-clocks'), now = Date.now() / 1000;
    const told = this.timers.map((timer) => ({ name: timer.name, rest: timer.begun_s + timer.lasts_s - now }));
    told.sort((a, b) => a.rest - b.rest);
    const words = ({ rest }) => (rest > 0 ? left(rest) : `over since ${left(rest)}`);
    const [soonest] = told;
    line.hidden = !soonest;
    if (soonest) line.textContent = `${soonest.name}: ${words(soonest)}${told.length > 1 ? ` (${told.length} clocks)` : ''}`;
    line.classList.toggle('over', Boolean(soonest && soonest.rest <= 0));
    if (!place) return;
    if (place.childElementCount !== told.length) place.replaceChildren(...told.map(() => { const row = document.createElement('p'); row.append(document.createElement('b'), ' ', document.createElement('span')); return row; }));
    told.forEach((each, at) => {
      const row = place.children[at];
      row.firstChild.textContent = words(each);
      row.lastChild.textContent = each.name;
      row.classList.toggle('over', each.rest <= 0);
    });
  }

  // the same thing everywhere it is shown
  light() {
    const { board } = this, lit = new Set([this.key, ...this.tied]);
    if (this.key in SHEETS) lit.clear();
    for (const shot of document.querySelectorAll('#reel .shot')) shot.classList.toggle('lit', lit.has(`stage/${shot.dataset.stage}`));
    for (const each of document.querySelectorAll('[data-thing]')) if (each.id !== 'thing') each.classList.toggle('lit', lit.has(each.dataset.thing));
    for (const bar of document.querySelectorAll('#days .step-bar')) bar.classList.toggle('lit', lit.has(`stage/${bar.dataset.stage}`));
    for (const head of document.querySelectorAll('#days .day-head')) head.classList.toggle('lit', lit.has(`day/${Number(head.dataset.day) + 1}`));
    const shapes = this.index?.shapes ?? {};
    // a stage of a whole face lights nothing by itself
    board.lit = [...lit].filter((key) => shapes[key]).map((key) => shapes[key]);
    board.opened = board.pins.find((pin) => pin.key === this.key)?.number;
    board.litPins = new Set(board.pins.filter((pin) => lit.has(pin.key)).map((pin) => pin.number));
    board.overlaid = '';
    board.soon();
  }

  // the middles of the things of this face
  middles() {
    return Object.values(this.index?.shapes ?? {}).filter((shape) => shape.face === this.board.face).flatMap((shape) => shape.at ?? [0].map(() => {
      const points = shape.rings.flat(), mean = (k) => (Math.min(...points.map((p) => p[k])) + Math.max(...points.map((p) => p[k]))) / 2;
      return [mean(0), mean(1)];
    }));
  }

  // close up, where the painter draws none itself: the edges of what lies on this face by now, as they were drawn
  edges(over, element) {
    const { camera, film, face, stage, painter } = this.board;
    if (!this.index || painter.close?.able || film.px_mm * camera.scale < EDGE_PX) return;
    const spot = (x, y) => camera.toScreen(x, y).map((v) => v.toFixed(1)), [x0, y0] = camera.toBoard(0, camera.height), [x1, y1] = camera.toBoard(camera.width, 0);
    let d = '';
    for (const [key, shape] of Object.entries(this.index.shapes)) {
      const since = Math.min(...(this.index.ties[key] ?? []).filter((each) => each.startsWith('stage/')).map((each) => Number(each.slice(6))));
      if (shape.face !== face || stage < since) continue;
      for (const [x, y] of shape.at ?? []) {
        const r = shape.radius, [left, middle] = spot(x - r, y), [right] = spot(x + r, y), radius = (r * camera.scale).toFixed(1);
        if (x + r > x0 && x - r < x1 && y + r > y0 && y - r < y1) d += `M${left} ${middle}A${radius} ${radius} 0 1 1 ${right} ${middle}A${radius} ${radius} 0 1 1 ${left} ${middle}Z`;
      }
      for (const ring of shape.rings ?? []) d += `M${ring.map(([x, y]) => spot(x, y).join(' ')).join('L')}Z`;
    }
    for (const ring of film.shot(stage).trimmed ? film.outline[face] : []) d += `M${ring.map(([x, y]) => spot(x, y).join(' ')).join('L')}Z`;
    if (d && !camera.lean) element('path', { class: 'edges', d }, over);
  }

  // from the other side what is lit shows mirrored, as dashed outlines
  draw(over, element) {
    const { camera, film, face } = this.board;
    const place = (x, y, behind) => {
      if (!behind) return camera.toScreen(x, y);
      return film.turn_about_x ? camera.toScreen(x, film.width_mm - y) : camera.toScreen(film.length_mm - x, y);
    };
    const show = (shape, name) => {
      const behind = shape.face !== face;
      const kind = `${name}${behind ? ' behind' : ''}`;
      for (const [x, y] of shape.at ?? []) {
        const [cx, cy] = place(x, y, behind);
        element('circle', { class: kind, cx: cx.toFixed(1), cy: cy.toFixed(1), r: Math.max(2.5, shape.radius * camera.scale).toFixed(1) }, over);
      }
      const d = (shape.rings ?? []).map((ring) => `M${ring.map(([x, y]) => place(x, y, behind).map((v) => v.toFixed(1)).join(' ')).join('L')}Z`).join('');
      if (d) for (const each of [`${kind} ground`, kind]) element('path', { class: each, d }, over);
    };
    this.edges(over, element);
    for (const shape of this.board.lit ?? []) show(shape, 'lit');
    const hovered = this.hovered && this.index?.shapes[this.hovered];
    if (hovered && !(this.board.lit ?? []).includes(hovered)) show(hovered, 'hovered');
  }

  at(event) {
    const { board } = this, box = board.canvas.getBoundingClientRect();
    const [px, py] = [event.clientX - box.left, event.clientY - box.top];
    for (const { pin, x, y } of board.pinPlaces()) if (Math.hypot(x - px, y - py) < PIN_PX) return pin.key;
    if (!this.index) return '';
    const [x, y] = board.camera.toBoard(px, py), near = NEAR_PX / board.camera.scale;
    const found = [];
    for (const [key, shape] of Object.entries(this.index.shapes)) {
      if (shape.face !== board.face) continue;
      const { inside, far } = under(shape, x, y);
      if (inside || far < near) found.push({ key, inside, far: inside ? 0 : far, size: this.sizes[key] });
    }
    found.sort((a, b) => Number(b.inside) - Number(a.inside) || a.far - b.far || a.size - b.size);
    return found[0]?.key ?? '';
  }

  touch(event) {
    const key = this.at(event);
    if (key) this.hold(key);
  }

  hover(event) {
    if (event.buttons || event.pointerType === 'touch' || this.board.mode !== 'move') { this.over(''); return; }
    if (this.looking) return;
    this.looking = requestAnimationFrame(() => { this.looking = 0; this.over(this.at(event)); });
  }

  over(key) {
    if (key === (this.hovered ?? '')) return;
    this.hovered = key;
    this.board.canvas.title = key ? this.index?.words[key] ?? '' : '';
    this.board.canvas.classList.toggle('touching', Boolean(key));
    this.board.overlaid = '';
    this.board.soon();
  }

  // with keys: one thing of this face after the other, or one pinned finding of either face
  keys(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Escape' && this.key !== 'today') { this.hold('today'); event.preventDefault(); return; }
    const by = { n: 1, b: -1, g: 1, G: -1 }[event.key];
    if (!by) return;
    event.preventDefault();
    if (/g/i.test(event.key)) this.step(this.board.pins.map((pin) => pin.key), by);
    // pressed before it is known what lies where: done once it is
    else if (!this.index) this.steps = (this.steps ?? 0) + by;
    else this.step(this.here(), by);
  }

  // the things of the face that is up
  here() { return Object.entries(this.index.shapes).filter(([, shape]) => shape.face === this.board.face).map(([key]) => key); }

  step(all, by) {
    if (!all.length) return;
    const at = all.indexOf(this.key), from = at < 0 ? (by > 0 ? -1 : all.length) : at;
    this.hold(all[(((from + by) % all.length) + all.length) % all.length]);
  }
}
