// A job made on the page: its wood, what goes on it, and its files written.  Every act changes the job's text.

import { ask, why } from '/static/asked.js';
import { MM_PER_INCH } from '/static/board.js';
import { Edges } from '/static/edges.js';
import { Filling, made } from '/static/filling.js';
import { OldNew } from '/static/oldnew.js';
import { Placing } from '/static/placing.js';
import { Plank, drawPlank } from '/static/plank.js';

const find = (name) => document.getElementById(name);
const units = document.documentElement.dataset.units;
const SVG = 'http://www.w3.org/2000/svg';
// a margin round the trimmed piece for tabs and clamps, at first
const ROUND_MM = 12.5;
const MOST_BACK = 50;
const QUIET_MS = 250;
// two numbers to a line, below a head at most: a list of points
const POINTS = /^\s*(?:[a-z ,;:=\t]+[\r\n]+)?\s*-?[\d.]+\s*[,;\t ]\s*-?[\d.]+\s*(?:[\r\n]|$)/i;

function shape(name, attributes, parent) {
  const item = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) item.setAttribute(key, value);
  parent.append(item);
  return item;
}

// a length as it is typed, in mm; not a number where it is none
function mm(told) {
  const found = /^\s*(\d+(?:\.\d+)?)(?:\s+(\d+)\/(\d+))?\s*(mm|cm|in|")?\s*$/.exec(told);
  if (!found) return NaN;
  const value = Number(found[1]) + (found[2] ? Number(found[2]) / Number(found[3]) : 0);
  return value * ({ cm: 10, in: MM_PER_INCH, '"': MM_PER_INCH }[found[4]] ?? (found[4] || units !== 'inch' ? 1 : MM_PER_INCH));
}

export class Making {
  constructor(board, hand, text) {
    Object.assign(this, { board, hand, text, back: [], turn: Promise.resolve() });
    if (!find('new')) return;
    this.placing = new Placing(this);
    this.filling = new Filling(this);
    this.edges = new Edges(this);
    this.compared = new OldNew(text);
    this.plank = new Plank(this);
    this.begin();
    this.adding();
    this.files();
    find('write-all').addEventListener('click', () => this.write());
    for (const button of this.backs) button.addEventListener('click', () => this.takeBack());
    document.addEventListener('held', () => this.looked());
    board.canvas.addEventListener('keydown', (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key === 'z' && this.back.length) { event.preventDefault(); this.takeBack(); }
    });
    document.addEventListener('taken', () => this.looked());
    this.open();
  }

  get backs() { return document.querySelectorAll('[data-take-back]'); }

  backable() { for (const button of this.backs) button.hidden = !this.back.length; }

  get blank() { return Boolean(find('new')) && !this.text.area.value.trim(); }

  // a file without anything in it begins with its wood, a board without anything on it with what goes on it
  async open() {
    const plain = !location.hash || location.hash === '#today';
    if (this.blank && plain) this.hand.hold('begin', true);
    await this.atHand();
    if (!this.blank && plain && this.hand.key === 'today' && this.known?.empty) this.hand.hold('new', true);
    if (this.known && this.hand.key === 'new') this.looked();
  }

  // what there is to make a job of, for the text as it stands
  async atHand() {
    const told = await ask('/making/at-hand', this.text.sent({ text: this.text.area.value })).catch((error) => error);
    if (told instanceof Error) { this.say(told.message, true); return; }
    this.known = told;
    find('begin-form').elements.namedItem('title').placeholder = told.title || 'My first board';
    this.fill(find('begin-form').elements.wood, told.woods.map((each) => each.name));
    this.fill(find('words-form').elements.font, told.fonts, 'sans bold');
    this.fill(find('ready-form').elements.kind, told.parts.map((each) => each.kind), undefined, told.parts.map((each) => each.words));
    this.beside(told.files);
    this.filling.take(told);
    this.drawBlank();
    document.documentElement.dataset.atHand = (this.times = (this.times ?? 0) + 1);
  }

  fill(select, values, first, words = values) {
    const was = select.value || first;
    if ([...select.options].map((each) => each.value).join('\n') === values.join('\n')) return;
    select.replaceChildren(...values.map((value, at) => new Option(words[at], value)));
    if (values.includes(was)) select.value = was;
  }

  looked() {
    find('new-face').textContent = this.board.face;
    if (this.hand.key === 'new' && this.seenText !== this.text.area.value) { this.seenText = this.text.area.value; this.atHand(); }
    if (this.hand.key === 'new' && !find('ready-measures').childElementCount) this.measures();
  }

  place(kind = this.hand.kind) { return find({ begin: 'begin-said', plank: 'plank-said', inlay: 'hand-said', holes: 'hand-said' }[kind] ?? 'new-said'); }

  say(words, amiss = false, kind = this.hand.kind) {
    const place = this.place(kind);
    place.classList.toggle('amiss', amiss);
    place.textContent = words;
  }

  // one change of the text after the other; what it was before is kept
  change(path, body, words) {
    const next = async () => {
      const before = this.text.area.value;
      const told = await ask(path, this.text.sent({ text: before, units, face: this.board.face, ...body })).catch((error) => error);
      if (told instanceof Error) { this.say(told.status ? told.message[0].toUpperCase() + told.message.slice(1) : 'The bench does not answer; nothing was changed.', true); return null; }
      if (this.text.area.value !== before) { this.say('The text was changed meanwhile: try it again.', true); return null; }
      this.put(told.text);
      if (words !== undefined) this.say(words);
      return told;
    };
    this.turn = this.turn.then(next, next);
    return this.turn;
  }

  put(text) {
    const before = this.text.area.value;
    if (text === before) return;
    this.back.push(before);
    if (this.back.length > MOST_BACK) this.back.shift();
    this.backable();
    this.text.put(text);
    this.compared.look();
  }

  takeBack() {
    const before = this.back.pop();
    if (before !== undefined) { this.text.put(before); this.say('Taken back.'); }
    this.backable();
    this.plank.look();
  }

  // ---- the wood

  begin() {
    const form = find('begin-form'), { elements } = form;
    if (units === 'inch') for (const [name, value] of [['length', '5 in'], ['width', '5 in'], ['thickness', '0.5 in']]) elements.namedItem(name).value = value;
    form.addEventListener('input', () => this.drawBlank());
    const trimmed = () => {
      const size = elements['trim-size'], round = units === 'inch' ? (each) => `${Math.round((each - 2 * ROUND_MM) / MM_PER_INCH * 4) / 4} in` : (each) => `${Math.round(each - 2 * ROUND_MM)} mm`;
      const [long, wide] = [mm(elements.namedItem('length').value), mm(elements.width.value)];
      size.parentElement.hidden = !elements.trim.value;
      if (elements.from.value) size.value = elements.trim.value === 'circle' ? (units === 'inch' ? '3.5 in' : '90 mm') : (units === 'inch' ? '4.5 in x 2 in' : '110 mm x 50 mm');
      else size.value = elements.trim.value === 'circle' ? round(Math.min(long, wide)) : `${round(long)} x ${round(wide)}`;
      this.drawBlank();
    };
    elements.trim.addEventListener('change', trimmed);
    // a plank has room for several: what was never touched becomes one, and its pieces have an outline
    elements.from.addEventListener('change', () => {
      const plank = Boolean(elements.from.value), one = units === 'inch' ? ['5 in', '5 in'] : ['125 mm', '125 mm'], many = units === 'inch' ? ['16 in', '12 in'] : ['420 mm', '310 mm'];
      ['length', 'width'].forEach((name, at) => { if (elements.namedItem(name).value === (plank ? one : many)[at]) elements.namedItem(name).value = (plank ? many : one)[at]; });
      elements.trim.options[0].disabled = plank;
      if (plank && !elements.trim.value) elements.trim.value = 'circle';
      trimmed();
    });
    form.addEventListener('submit', async (event) => {
      event.preventDefault();
      const plank = Boolean(elements.from.value), now = await this.change('/making/begin', this.begun, '');
      if (!now) return;
      this.back.length = 0;
      this.backable();
      // the blank stays in sight until the first picture of it stands
      document.documentElement.dataset.begun = '';
      if (await this.text.save()) { this.hand.hold(plank ? 'plank' : 'new'); this.say(plank ? 'The plank is on the bench, and the job file is begun. Now names and knots, if there are any; then put something on.' : 'The wood is on the bench, and the job file is begun. Now what goes on it.', false, plank ? 'plank' : 'new'); }
      else this.say(find('text-state').textContent, true);
    });
  }

  // what is answered so far
  get begun() {
    const { elements } = find('begin-form'), told = (name) => elements.namedItem(name).value.trim(), plank = Boolean(told('from'));
    return {
      title: told('title') || elements.title.placeholder, wood: told('wood'), length: told('length'), width: told('width'), thickness: told('thickness'),
      pieces: plank ? '1' : told('pieces'), trim_line: told('trim') ? { [told('trim')]: told('trim-size') } : null, both_faces: told('faces') === 'both',
      plank: plank ? { pieces: told('pieces') } : null,
    };
  }

  // the plank with its pieces, as the bench lays them
  async drawBegun(place) {
    clearTimeout(this.quiet);
    const asked = this.begunNow = {};
    await new Promise((done) => { this.quiet = setTimeout(done, QUIET_MS); });
    const told = await ask('/making/begin', this.text.sent({ ...this.begun, units })).catch((error) => error);
    if (asked !== this.begunNow) return;
    this.say(told instanceof Error ? told.message : '', told instanceof Error);
    if (told instanceof Error) return;
    drawPlank(told.plank, place);
    place.setAttribute('aria-label', told.plank.said);
    place.dataset.laid = told.plank.pieces.length;
  }

  // the blank as it is described, to scale, with the grain along its length
  drawBlank() {
    const { elements } = find('begin-form'), place = find('begin-board');
    if (elements.from.value) { this.drawBegun(place); return; }
    this.begunNow = null;
    const [long, wide] = [mm(elements.namedItem('length').value), mm(elements.width.value)];
    place.replaceChildren();
    if (!(long > 0 && wide > 0)) return;
    const wood = this.known?.woods.find((each) => each.name === elements.wood.value)?.colour ?? '#b4794c';
    place.setAttribute('viewBox', `${-long * 0.03} ${-wide * 0.03} ${long * 1.06} ${wide * 1.06}`);
    place.setAttribute('aria-label', `A blank of ${elements.wood.value}, ${elements.namedItem('length').value} by ${elements.width.value}`);
    shape('rect', { width: long, height: wide, fill: wood }, place);
    for (let at = 1; at < 9; at++) shape('line', { x1: 0, x2: long, y1: wide * at / 9, y2: wide * (at + 0.25 * Math.sin(at * 7)) / 9, stroke: '#000', 'stroke-opacity': 0.12, 'stroke-width': wide / 160 }, place);
    const line = { fill: 'none', stroke: '#fff', 'stroke-width': long / 200, 'stroke-dasharray': long / 50 };
    const [a, b] = elements['trim-size'].value.split(/\s*x\s*/).map(mm);
    if (elements.trim.value === 'circle' && a > 0) shape('circle', { cx: long / 2, cy: wide / 2, r: a / 2, ...line }, place);
    if (elements.trim.value === 'rectangle' && a > 0 && b > 0) shape('rect', { x: (long - a) / 2, y: (wide - b) / 2, width: a, height: b, ...line }, place);
  }

  // ---- words and ready-made parts

  adding() {
    const words = find('words-form'), ready = find('ready-form');
    words.elements.along.addEventListener('change', () => { words.elements.arc.parentElement.hidden = !words.elements.along.value; });
    words.addEventListener('submit', async (event) => {
      event.preventDefault();
      const { elements } = words, along = elements.along.value;
      const arc = { diameter: elements.arc.value.trim(), ...(along === 'inward' ? { angle: '-90 deg', tops: 'inward' } : {}) };
      const now = await this.change('/making/put', { what: 'words', words: elements.words.value, size: elements.size.value.trim(), font: elements.font.value, more: along ? { 'on arc': arc } : {} });
      if (now) { this.added(now); elements.words.value = ''; }
    });
    find('seam-form').addEventListener('submit', async (event) => {
      event.preventDefault();
      const now = await this.change('/making/join', { how: 'around', thing: this.hand.key, other: '', width: event.target.elements.width.value.trim() });
      if (now) { this.added(now); find('seam-new').open = false; this.atHand(); }
    });
    ready.elements.kind.addEventListener('change', () => this.measures());
    // more of it may need more room: its measures follow as long as none was typed
    ready.addEventListener('input', (event) => { if (event.target.closest('#ready-measures')) this.typed = true; });
    find('ready-parts').addEventListener('change', () => { if (!this.typed) this.measures(); });
    ready.addEventListener('submit', async (event) => {
      event.preventDefault();
      const more = {}, parts = this.wanted;
      for (const input of find('ready-measures').querySelectorAll('[name]')) more[input.name] = input.value;
      const now = await this.change('/making/put', { what: 'ready-made', kind: ready.elements.kind.value, more, parts });
      if (now) this.added(now);
    });
  }

  get wanted() { return [...find('ready-parts').querySelectorAll('input:checked')].map((each) => each.value); }

  // how large a part may be, with as much of it as is wanted
  async measures() {
    const form = find('ready-form'), kind = form.elements.kind.value, part = this.known?.parts.find((each) => each.kind === kind);
    if (!part || this.blank) return;
    if (form.dataset.parts !== kind) this.parts(kind, part);
    const asked = this.measuring = {};
    const told = await ask('/making/measures', this.text.sent({ text: this.text.area.value, kind, parts: this.wanted, units, face: this.board.face })).catch((error) => error);
    if (asked !== this.measuring) return;
    if (told instanceof Error) { this.say(told.message, true); return; }
    find('ready-measures').replaceChildren(...told.measures.map((each) => {
      const label = made('label', `${each.words[0].toUpperCase()}${each.words.slice(1)} `);
      const input = made(each.choices.length ? 'select' : 'input');
      for (const choice of each.choices) input.append(new Option(choice, choice));
      input.name = each.key;
      input.value = each.value;
      label.append(input);
      return label;
    }));
    this.typed = false;
    form.dataset.kind = kind;
  }

  parts(kind, part) {
    const of = find('ready-parts'), first = part.parts.findIndex(([, is]) => is !== 'words');
    of.hidden = !part.parts.length;
    of.replaceChildren(of.firstElementChild, ...part.parts.map(([name], at) => {
      const label = made('label'), box = made('input');
      box.type = 'checkbox';
      box.value = name;
      box.checked = at === Math.max(0, first);
      label.append(box, name);
      return label;
    }));
    find('ready-form').dataset.parts = kind;
  }

  // what was put on, each to be taken in hand
  added(now) {
    const place = this.place();
    this.say('');
    now.things.forEach((key, at) => {
      const link = made('a', key.split('/').slice(2).join('/'));
      link.href = `#${key.split('/').map(encodeURIComponent).join('/')}`;
      place.append(at ? ', ' : '', link);
    });
    place.append(`: ${now.said[0].toLowerCase()}${now.said.slice(1)} Not saved yet.`);
    document.documentElement.dataset.added = (this.count = (this.count ?? 0) + 1);
  }

  // ---- files

  files() {
    const root = document.documentElement;
    find('pick').addEventListener('change', () => { this.take([...find('pick').files]); find('pick').value = ''; });
    const carries = (event) => event.dataTransfer?.types.includes('Files');
    document.addEventListener('dragover', (event) => { if (carries(event)) { event.preventDefault(); root.classList.add('dropping'); } });
    document.addEventListener('dragleave', (event) => { if (!event.relatedTarget) root.classList.remove('dropping'); });
    document.addEventListener('drop', (event) => {
      if (!carries(event)) return;
      event.preventDefault();
      root.classList.remove('dropping');
      this.take([...event.dataTransfer.files]);
    });
    document.addEventListener('paste', (event) => {
      const files = [...event.clipboardData?.files ?? []], words = event.clipboardData?.getData('text') ?? '';
      const typing = event.target.closest?.('input, textarea, select');
      if (files.length) { event.preventDefault(); this.take(files); }
      else if (!typing && POINTS.test(words)) { event.preventDefault(); this.take([new File([words], 'pasted points.csv')]); }
      else if (!typing && /<svg[\s>]/.test(words)) { event.preventDefault(); this.take([new File([words], 'pasted.svg')]); }
    });
  }

  async take(files) {
    if (!files.length) return;
    if (this.blank) { this.hand.hold('begin'); this.say('First the wood; then drop it again.', true); return; }
    if (this.hand.key !== 'new') this.hand.hold('new');
    for (const file of files) {
      this.say(`${file.name} is being taken …`);
      const answer = await fetch(`/making/file?name=${encodeURIComponent(file.name)}`, { method: 'POST', headers: { 'Content-Type': 'application/octet-stream' }, body: file }).catch(() => null);
      if (!answer?.ok) { this.say(`${file.name} was not taken: ${await why(answer)}`, true); continue; }
      const held = await answer.json();
      if (held.kind === 'font') {
        await this.atHand();
        find('words-form').elements.font.value = held.file;
        this.say(`${held.file} is among the fonts now; it is chosen for the next words.`);
      } else if (held.kind === 'points') await this.draw(held.file, 'holes');
      else await this.draw(held.file, held.colours.length ? 'colours' : held.layers.length > 1 ? 'layers' : 'whole');
    }
    await this.atHand();
  }

  async draw(file, by) {
    const now = await this.change('/making/put', { what: ['holes', 'outline'].includes(by) ? 'points' : 'drawing', file, by });
    if (now) this.added(now);
  }

  beside(files) {
    // how one is put on stays as it was chosen
    const told = files.map((each) => `${each.file} ${each.kind}`).join('\n');
    if (told === this.laidBeside) return;
    this.laidBeside = told;
    find('files').replaceChildren(...files.map(({ file, kind }) => {
      const row = made('li'), by = made('select'), put = made('button', 'Put it on');
      const ways = { points: ['holes', 'outline'], svg: ['colours', 'layers', 'whole'], dxf: ['whole', 'layers'], picture: ['colours', 'whole'] }[kind];
      const words = { colours: 'an inlay for each colour', layers: 'an inlay for each layer', whole: 'one inlay of it all', holes: 'a hole at each point', outline: 'an inlay with these corners' };
      for (const way of ways) by.append(new Option(words[way], way));
      by.setAttribute('aria-label', `How ${file} is put on`);
      put.type = 'button';
      put.setAttribute('aria-label', `Put ${file} on`);
      put.addEventListener('click', () => this.draw(file, by.value));
      row.append(made('b', file), by, put);
      return row;
    }));
  }

  // ---- the files of the build

  async write() {
    const said = find('written'), button = find('write-all');
    if (this.text.dirty) { said.textContent = 'Save the job first: what is written is the saved job.'; return; }
    button.disabled = true;
    said.textContent = 'They are being written …';
    const told = await ask('/making/write', this.text.sent({ digest: this.text.digest })).catch((error) => error);
    button.disabled = false;
    if (told instanceof Error) { said.textContent = `Nothing was written: ${told.message}`; return; }
    const aside = told.aside ? ` What stood there was changed by hand, and lies in ${told.aside} now.` : '';
    said.textContent = told.files.length ? `Written to “${told.folder}”: ${told.files.length} G-code files and the shop book.${aside}` : `Something must be fixed: there are no G-code files. The book and what was found are in “${told.folder}”.`;
  }
}
