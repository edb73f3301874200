// @ts-check
// Two keys of the job against each other, square by square as the check of each pair comes in.

import { ask } from '/static/asked.js';
import { PAGE } from '/static/page.js';

const find = (name) => document.getElementById(name);

function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

export class Sweep {
  constructor(text) {
    this.text = text;
    this.keys = new Map();
    const form = find('sweep');
    form.addEventListener('submit', (event) => { event.preventDefault(); this.start(); });
    for (const which of ['across', 'up']) {
      form.elements[which].addEventListener('change', () => this.propose(which));
      form.elements[`${which}-values`].addEventListener('input', (event) => { delete event.target.dataset.own; });
    }
    find('sweep-stop').addEventListener('click', () => this.send('/asking/sweep/stop', {}));
    find('sweep-box').addEventListener('toggle', () => { if (find('sweep-box').open) this.list(); });
    form.elements.shows.addEventListener('change', () => { if (this.now) this.draw(this.now); });
    // what was begun before goes on being shown; asked only once the first picture stands
    document.addEventListener('taken', (/** @type {any} */ event) => { if (!event.detail.coarse && !this.looked) { this.looked = true; this.look(); } });
  }

  post(path, body) {
    return fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  }

  async list() {
    const answer = await this.post('/asking/keys', { text: this.text.area.value }).catch(() => null);
    if (!answer?.ok) { find('sweep-said').textContent = 'The keys of the job could not be listed; they can still be typed.'; return; }
    find('sweep-said').textContent = '';
    const { keys } = await answer.json();
    this.keys = new Map(keys.map((each) => [each.key, each]));
    find('known-keys').replaceChildren(...keys.map((each) => new Option(`now ${each.value}`, each.key)));
    // a key typed before they were here
    for (const which of ['across', 'up']) this.propose(which);
  }

  propose(which) {
    const { elements } = find('sweep'), known = this.keys.get(elements[which].value.trim());
    const values = elements[`${which}-values`];
    if (known && (!values.value || values.dataset.own)) { values.value = known.proposed.join(', '); values.dataset.own = 'yes'; }
    if (known) find(`${which}-now`).textContent = `now ${known.value}`;
  }

  start() {
    const { elements } = find('sweep');
    const axis = (name) => ({ key: elements[name].value.trim(), values: elements[`${name}-values`].value.split(',').map((v) => v.trim()).filter(Boolean) });
    const body = { page: PAGE, text: this.text.area.value, across: axis('across') };
    if (elements.up.value.trim()) body.up = axis('up');
    this.send('/asking/sweep', body);
  }

  async send(path, body) {
    const said = find('sweep-said');
    try {
      const answer = await this.post(path, body), now = await answer.json();
      said.textContent = answer.ok ? '' : now.error;
      if (answer.ok) { this.draw(now); this.look(); }
    } catch { said.textContent = 'The bench does not answer.'; }
  }

  async look() {
    clearTimeout(this.again);
    try {
      const now = await ask(`/asking/sweep?page=${PAGE}`);
      if (now) this.draw(now);
      if (now?.busy) this.again = setTimeout(() => this.look(), 700);
    } catch (error) {
      find('sweep-state').textContent = `How far it is, is not known: ${error.message}`;
      this.again = setTimeout(() => this.look(), 3000);
    }
  }

  draw(now) {
    this.now = now;
    const done = now.squares.length, shows = find('sweep').elements.shows.value;
    find('sweep-stop').hidden = !now.busy;
    find('sweep-state').textContent = now.failed || (now.busy ? `${done} of ${now.whole} worked out …` : `${done} of ${now.whole} worked out.`);
    const table = made('table', '', 'squares'), rows = now.up ? now.up.values : [''];
    table.append(made('caption', now.up ? `${now.across.key} across, ${now.up.key} down` : now.across.key));
    const head = made('tr');
    head.append(made('td'), ...now.across.values.map((value) => { const cell = made('th', value); cell.scope = 'col'; return cell; }));
    table.append(head);
    const best = this.best(now);
    rows.forEach((value, row) => {
      const line = made('tr'), name = made('th', value);
      name.scope = 'row';
      line.append(value ? name : made('td'));
      now.across.values.forEach((_, column) => {
        const square = now.squares.find((each) => each.row === row && each.column === column);
        line.append(this.cell(square, shows, best === square));
      });
      table.append(line);
    });
    const open = document.activeElement;
    find('sweep-plot').replaceChildren(table);
    if (open && !open.isConnected) find('sweep-plot').focus?.();
  }

  // the fewest that must be fixed, then the fewest warnings, then the best odds
  best(now) {
    const read = now.squares.filter((each) => !each.refused);
    if (now.busy || read.length < 2) return null;
    const order = (a, b) => a.must_fix - b.must_fix || a.warnings - b.warnings || b.piece - a.piece;
    return [...read].sort(order)[0];
  }

  cell(square, shows, best) {
    const cell = made('td', '', 'square');
    if (!square) { cell.append(made('span', '…', 'figure')); return cell; }
    if (square.refused) { cell.classList.add('refused'); cell.append(made('span', 'cannot be read', 'figure'), made('small', square.refused)); return cell; }
    const mark = square.must_fix ? 'must-fix' : square.warnings ? 'warning' : 'good';
    cell.classList.add(mark);
    if (best) cell.classList.add('best');
    const shade = made('i');
    shade.style.setProperty('--share', String(Math.sqrt(Math.max(0, square.piece))));
    shade.setAttribute('aria-hidden', 'true');
    const count = [square.must_fix && `${square.must_fix} must fix`, square.warnings && `${square.warnings} warning${square.warnings > 1 ? 's' : ''}`].filter(Boolean).join(', ') || 'nothing against it';
    const odds = `${(square.piece * 100).toFixed(1)} in 100`;
    const figures = { odds, findings: count, days: square.finish || 'no days' };
    cell.append(shade, made('span', `${{ 'must-fix': '■', warning: '▲', good: '✓' }[mark]} ${figures[shows]}`, 'figure'));
    cell.append(made('small', Object.entries(figures).filter(([name]) => name !== shows && name !== 'days').map(([, words]) => words).join('; ') + (best ? '; the best of these' : '')));
    if (square.worst) cell.title = square.worst;
    return cell;
  }
}
