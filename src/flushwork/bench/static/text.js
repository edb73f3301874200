// @ts-check
// The job's own text: tried while it is typed, saved only when asked, never over someone else's change.

import { answered, ask, failed, why } from '/static/asked.js';
import { Editor, slipWords } from '/static/editor.js';
import { PAGE } from '/static/page.js';
import { Steps } from '/static/steps.js';

const find = (name) => document.getElementById(name);
const QUIET_MS = 250;

export class JobText {
  constructor(sight, drawn, built) {
    this.sight = sight;
    this.drawn = drawn;
    this.built = built;
    this.tries = 0;
    this.area = find('job');
    this.lines = find('lines');
    // the page comes with the saved text: who types before the bench answers has changed it
    this.saved = this.area.defaultValue;
    this.digest = null;
    this.slips = [];
    this.steps = new Steps();
    this.last = this.area.value;
    this.editor = new Editor(this);
    // other days, wished for or not: put there by the part of the page that they belong to
    /** @type {Told} */
    this.days = () => Promise.resolve();
    this.area.addEventListener('input', () => { this.editor.put(this.area.value); this.typed(); });
    this.area.addEventListener('scroll', () => { this.lines.scrollTop = this.area.scrollTop; });
    this.area.addEventListener('keydown', (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key === 's') { event.preventDefault(); this.save(); }
    });
    document.addEventListener('keydown', (event) => this.keys(event));
    find('save').addEventListener('click', () => this.save());
    find('undo').addEventListener('click', () => this.back());
    find('redo').addEventListener('click', () => this.on());
    find('done').addEventListener('toggle', () => this.history());
    for (const name of ['revert', 'unsaved-drop']) find(name).addEventListener('click', () => this.change(this.saved));
    find('unsaved-save').addEventListener('click', () => this.save());
    find('unsaved-see').addEventListener('click', () => { location.hash = '#text'; });
    find('take').addEventListener('click', () => this.send('/theirs', {}, 'Their text was taken.'));
    find('keep').addEventListener('click', () => this.keep());
    // what a closed page tried is nobody's; one that comes back tries it again
    window.addEventListener('pagehide', () => this.post('/leave', { page: PAGE }, { keepalive: true }).catch(() => {}));
    window.addEventListener('pageshow', (event) => { if (event.persisted) this.again(); });
    window.addEventListener('beforeunload', (event) => { if (this.dirty) event.preventDefault(); });
    find('small').addEventListener('toggle', () => this.form());
    for (const place of [find('small-fields'), find('thing')]) {
      place.addEventListener('change', (event) => { if (event.target.dataset.path) this.edit(event.target); });
      place.addEventListener('submit', (event) => event.preventDefault());
    }
    this.load();
  }

  // the small forms follow the text, and the text the forms: all of them, or that of the thing in hand
  async form() {
    const own = [...document.querySelectorAll('.thing-fields')];
    if (!find('small').open && !own.length) return;
    const told = await ask('/form', this.sent({ text: this.area.value })).catch((error) => error);
    if (told instanceof Error) {
      for (const each of [find('small-fields'), ...own]) each.replaceChildren();
      find('small-said').textContent = `The small forms are not shown: ${told.message}`;
      return;
    }
    const { groups } = told, said = find('small-said'), unread = 'They come back once the text can be read.';
    if (said.textContent.startsWith('The small forms are not shown')) said.textContent = '';
    if (!groups.length) said.textContent = unread; else if (said.textContent === unread) said.textContent = '';
    if (find('small').open) this.fields(find('small-fields'), groups);
    for (const place of own) {
      const mine = groups.filter((group) => group.thing === place.dataset.fields);
      // a text that cannot be read has no fields: those of before stay until it can
      if (groups.length) { this.fields(place, mine); place.hidden = !mine.length; }
    }
  }

  fields(place, groups) {
    if (place.contains(document.activeElement) && place.childElementCount === groups.length) {
      groups.forEach((group, g) => group.fields.forEach((field, f) => {
        const input = place.children[g].querySelectorAll('[name]')[f];
        if (!input) return;
        input.dataset.path = JSON.stringify(field.path);
        if (input !== document.activeElement) { input.value = field.value; input.dataset.was = field.value; }
        input.parentElement.nextElementSibling.hidden = !field.otherwise || ['', field.otherwise].includes(field.value);
      }));
      return;
    }
    place.replaceChildren(...groups.map((group) => {
      const box = document.createElement('fieldset'), legend = document.createElement('legend');
      legend.textContent = group.name;
      box.append(legend, ...group.fields.map((field) => this.field(group, field)));
      return box;
    }));
  }

  field(group, field) {
    const label = document.createElement('label'), few = field.choices.length > 0;
    const input = /** @type {any} */ (document.createElement(few ? 'select' : 'input'));
    label.textContent = `${field.label} `;
    if (few) {
      for (const choice of new Set([...(field.otherwise ? [''] : []), field.value, ...field.choices])) input.append(new Option(choice || field.otherwise || 'as it is', choice));
    } else { input.type = 'text'; input.placeholder = field.otherwise || 'as it is'; }
    input.name = field.label;
    input.value = field.value;
    input.dataset.was = field.value;
    input.dataset.path = JSON.stringify(field.path);
    input.dataset.otherwise = field.otherwise;
    const out = document.createElement('button'), row = document.createElement('div');
    out.type = 'button';
    out.className = 'out';
    out.textContent = 'Take out';
    if (field.otherwise) out.setAttribute('aria-label', `Take out ${field.label} of ${group.name}; then: ${field.otherwise}`);
    out.hidden = !field.otherwise || ['', field.otherwise].includes(field.value);
    out.addEventListener('click', () => { input.value = ''; input.focus(); this.edit(input); });
    label.append(input);
    row.append(label, out);
    return row;
  }

  async edit(input) {
    const said = input.closest('#small, #thing').querySelector('output'), { was, otherwise } = input.dataset, out = otherwise && !input.value.trim();
    if (input.value === was || (out && !was)) return;
    const answer = await this.post('/edit', { text: this.area.value, path: JSON.parse(input.dataset.path), value: input.value, out: Boolean(out), together: Boolean(input.closest('#thing')) }).catch(() => null);
    const now = answer ? await answer.json() : { error: 'The bench does not answer.' };
    if (!answer?.ok) { said.textContent = now.error; input.value = was; return; }
    said.textContent = out ? `${input.name}: ${was} before, taken out now, so: ${otherwise}; not saved yet.` : `${input.name}: ${was || otherwise || 'as it was'} before, ${input.value} now; not saved yet.`;
    input.dataset.was = input.value;
    this.change(now.text);
  }

  // the text becomes another in one go
  change(text) {
    this.write(text);
    this.typed(false);
  }

  write(text) {
    this.area.value = text;
    this.editor.put(text);
  }

  // a field of its own takes back what is typed in it
  keys(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.defaultPrevented) return;
    if (event.target.closest?.('input:not([type=checkbox], [type=radio], [type=range]), textarea, select, #editor')) return;
    const key = event.key.toLowerCase(), again = key === 'y' || (key === 'z' && event.shiftKey);
    if (key !== 'z' && key !== 'y') return;
    event.preventDefault();
    if (again) this.on(); else this.back();
  }

  // one row of all that was done: text, sheets and trials, days, and what was saved
  async back() {
    const { last } = this.steps;
    if (this.dirty && last?.what !== 'text' && last?.what !== 'days') this.change(this.saved);
    else if (!last || last.what === 'saved') {
      if ((last || this.undoes) && await this.send('/undo', { was: this.digest }, 'Undone.')) { this.steps.back(); this.buttons(this.undoes); }
    } else await this.go(last, last.before, () => this.steps.back(), 'Undone');
  }

  async on() {
    const { first } = this.steps;
    if (!first || first.what === 'saved') {
      if ((first || this.redoes) && !this.dirty && await this.send('/redo', { was: this.digest }, 'Done again.')) { this.steps.on(); this.buttons(this.undoes); }
    } else await this.go(first, first.after, () => this.steps.on(), 'Done again');
  }

  async go(step, to, gone, words) {
    gone();
    if (step.what === 'days') await this.days(to);
    else {
      this.last = to;
      this.write(to);
      this.tryIt();
    }
    this.buttons(this.undoes);
    this.say(this.dirty ? `${words}; not saved.` : `${words}.`);
  }

  // all that was done, the last first; what was undone lies above the step the job is at
  async history() {
    if (!find('done').open) return;
    const told = await ask('/history').catch((error) => error), place = find('steps');
    if (told instanceof Error) { failed('history', `What was done is not shown: ${told.message}`); place.replaceChildren(); return; }
    answered('history');
    place.replaceChildren(...[...told.steps].reverse().map((step) => {
      const item = document.createElement('li');
      item.textContent = step.words + (step.undone ? ' (undone)' : '');
      item.classList.toggle('undone', step.undone);
      if (step.here) item.setAttribute('aria-current', 'step');
      return item;
    }));
  }

  get dirty() { return this.area.value !== this.saved; }

  async load() {
    const before = sessionStorage.getItem('typed'), base = sessionStorage.getItem('typed over');
    try {
      const now = await ask('/text'), kept = this.dirty ? this.area.value : before;
      answered('text');
      this.take(now);
      if (kept !== null && kept !== now.text) {
        // typed over another text: it is asked which of the two is meant
        if (base && base !== now.digest) { this.digest = base; find('conflict').hidden = false; }
        this.change(kept);
        this.say('What you had typed before is here again, not saved yet.');
      }
    } catch (error) {
      if (error.status) failed('text', `The text of the job could not be read again: ${error.message}`);
      setTimeout(() => this.load(), 1000);
    }
  }

  take(now) {
    this.saved = now.text;
    this.digest = now.digest;
    this.last = now.text;
    this.write(now.text);
    find('conflict').hidden = true;
    this.forget();
    this.redoes = now.redo ?? 0;
    this.buttons(now.undo);
    this.number();
    this.form();
    this.history();
  }

  // a text put here by another part of the page: tried at once
  put(text) {
    this.change(text);
    clearTimeout(this.quiet);
    this.attempt();
  }

  typed(byHand = true) {
    const after = this.area.value;
    if (after !== this.last) this.steps.did({ what: 'text', before: this.last, after }, byHand ? performance.now() : undefined);
    this.last = after;
    this.tryIt();
    this.say(this.dirty ? 'Not saved.' : '');
  }

  tryIt() {
    this.number();
    this.buttons(this.undoes);
    if (this.dirty) this.remember(); else this.forget();
    clearTimeout(this.quiet);
    this.quiet = setTimeout(() => this.attempt(), QUIET_MS);
  }

  // what is typed outlives this page being closed, with what it was typed over
  remember() {
    try {
      sessionStorage.setItem('typed', this.area.value);
      sessionStorage.setItem('typed over', this.digest ?? '');
    } catch { failed('typed', 'What you typed is kept on this page alone, for the browser has no room: save it before you close the page.'); return; }
    answered('typed');
  }

  forget() {
    sessionStorage.removeItem('typed');
    sessionStorage.removeItem('typed over');
    answered('typed');
  }

  // for a bench that was started again: what is typed here is not known to it
  again() {
    this.say(this.dirty ? 'Not saved.' : '');
    if (this.dirty) this.attempt();
  }

  async attempt() {
    this.begun = performance.now();
    const mine = ++this.tries;
    this.trying = true;
    try {
      const text = this.area.value, answer = await this.post('/try', { text, page: PAGE, ...this.sight() }).catch(() => null);
      if (mine === this.tries) this.tried = answer?.ok ? text : undefined;
      if (answer && !answer.ok) failed('try', `What you typed is not being tried: ${await why(answer)}`); else answered('try');
      if (answer?.ok && answer.headers.get('Content-Type') === 'application/octet-stream') {
        const picture = await answer.arrayBuffer();
        if (mine === this.tries) await this.drawn(picture).catch(() => {});
      }
    } finally {
      if (mine === this.tries) this.trying = false;
    }
    this.form();
    this.built();
  }

  buttons(undoes) {
    this.undoes = undoes ?? 0;
    const { last, first } = this.steps;
    find('redo').disabled = first && first.what !== 'saved' ? false : !this.redoes || this.dirty;
    find('save').disabled = !this.dirty || this.digest === null;
    find('revert').disabled = !this.dirty;
    find('undo').disabled = !this.dirty && (!last || last.what === 'saved') && !this.undoes;
    this.banner();
  }

  // whoever looks at this page has to know at once that the saved job is another
  banner() {
    find('unsaved').hidden = !this.dirty;
    document.documentElement.toggleAttribute('data-unsaved', this.dirty);
    const plain = document.title.replace(/^Not saved: /, '');
    document.title = this.dirty ? `Not saved: ${plain}` : plain;
  }

  say(words) { find('text-state').textContent = words; }

  post(path, body, more = {}) { return fetch(path, { ...this.sent(body), ...more }); }

  sent(body) { return { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) }; }

  async send(path, body, done) {
    try {
      const answer = await this.post(path, { ...body, page: PAGE });
      const now = await answer.json();
      if (answer.status === 409) { find('conflict').hidden = false; this.say('Not saved: the file was changed elsewhere.'); return false; }
      if (!answer.ok) { this.say(now.error); return false; }
      find('conflict').hidden = true;
      const typed = this.area.value, at = [this.area.selectionStart, this.area.scrollTop];
      if (path === '/save') this.steps.saved(); else if (path === '/theirs') this.steps.forget();
      this.take(now);
      if (path === '/save' && typed === now.text) { [this.area.selectionStart, this.area.scrollTop] = at; this.area.selectionEnd = at[0]; }
      this.say(done);
      this.built();
      return true;
    } catch {
      this.say('The bench does not answer; nothing was saved. What you typed stays here.');
      return false;
    }
  }

  save() { if (this.dirty && this.digest !== null) return this.send('/save', { text: this.area.value, was: this.digest }, 'Saved.'); }

  async keep() {
    const mine = this.area.value;
    const now = await ask('/theirs', this.sent({})).catch((error) => error);
    if (now instanceof Error) { this.say(`Not saved: ${now.message}`); return; }
    this.digest = now.digest;
    this.saved = now.text;
    this.write(mine);
    await this.send('/save', { text: mine, was: this.digest }, 'Your text was saved over theirs; theirs can be had back by undoing.');
  }

  standing(now) {
    this.slips = now.slips;
    this.number();
    this.list();
    if (now.generation !== this.seen && this.begun) { this.told_ms = performance.now() - this.begun; }
    this.seen = now.generation;
    if (now.undo !== this.undoes || now.redo !== this.redoes) { this.redoes = now.redo; this.buttons(now.undo); this.history(); }
    if (now.outside) find('conflict').hidden = false;
    else if (this.digest === now.digest) find('conflict').hidden = true;
    if (now.outside) return;
    if (this.digest !== null && now.digest !== this.digest) this.changed();
    // a desk that has forgotten what is typed here hears it again, while somebody looks
    else if (this.dirty && !now.trying && !this.trying && this.tried === this.area.value && document.visibilityState === 'visible') this.attempt();
  }

  // another page has saved, or somebody has changed the file
  async changed() {
    if (this.loading) return;
    this.loading = true;
    try {
      const theirs = await ask('/text');
      answered('text');
      // an answer of before our own saving was overtaken by it
      if (theirs.digest === this.digest) return;
      if (!this.dirty || theirs.text === this.area.value) {
        this.steps.forget();
        this.take(theirs);
        this.say('The job was saved elsewhere; this is how it stands now.');
      } else find('conflict').hidden = false;
    } catch (error) {
      failed('text', `The job was saved elsewhere, and its text did not come: ${error.message}`);
    } finally { this.loading = false; }
  }

  number() {
    const marked = new Map(this.slips.filter((s) => s.file === this.slips[0]?.file).map((s) => [s.line, s.message]));
    const count = this.area.value.split('\n').length;
    const rows = document.createDocumentFragment();
    for (let line = 1; line <= count; line++) {
      const row = document.createElement('span');
      row.textContent = `${marked.has(line) ? '▸ ' : ''}${line}\n`;
      if (marked.has(line)) row.className = 'marked';
      rows.append(row);
    }
    this.lines.replaceChildren(rows);
    this.lines.scrollTop = this.area.scrollTop;
  }

  list() {
    const items = this.slips.map((slip) => {
      const item = document.createElement('li'), go = document.createElement('button'), words = document.createElement('span');
      go.type = 'button';
      go.className = 'line';
      go.textContent = `${slip.file}, line ${slip.line}`;
      go.addEventListener('click', () => this.goTo(slip.line, slip.column));
      words.textContent = ` ${slipWords(slip)}`;
      item.append(go, words);
      return item;
    });
    const shown = items.map((i) => i.textContent).join('\n');
    if (shown !== this.shown) {
      find('slips').replaceChildren(...items);
      this.shown = shown;
      this.editor.mark(this.slips.filter((slip) => slip.file === this.slips[0].file));
    }
    this.area.setAttribute('aria-invalid', String(items.length > 0));
  }

  goTo(line, column = 1) {
    const before = this.area.value.split('\n').slice(0, line - 1).join('\n').length + (line > 1 ? 1 : 0);
    // the sheet is laid out first: what is hidden takes no focus
    if (location.hash !== '#text') location.hash = '#text';
    find('text').hidden = false;
    if (this.editor.view) { this.editor.goTo(line, column); return; }
    this.area.focus();
    this.area.setSelectionRange(before + column - 1, before + column - 1);
    const high = this.area.scrollHeight / this.area.value.split('\n').length;
    this.area.scrollTop = Math.max(0, (line - 5) * high);
  }
}
