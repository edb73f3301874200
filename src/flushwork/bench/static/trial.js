// @ts-check
// A fix tried before it is written: the job's text with its keys changed, old against new.

const find = (name) => document.getElementById(name);

function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

const SIGN = { 'must-fix': '■', warning: '▲', note: '●' };
// a place that has gone no further is the same place
const STAYS_MM = 2;

// each place of each finding by itself, with the finding it is told in
function spotsOf(told) {
  return told.flatMap((finding) => finding.spots.map((spot) => ({ ...spot, finding, kind: `${finding.code}\n${spot.subject}\n${spot.face}` })));
}

// the places of before and now that are the same: of one kind, the nearest first
function pairsOf(before, after) {
  const near = [];
  before.forEach((old, i) => after.forEach((now, k) => {
    if (old.kind === now.kind) near.push([Math.hypot(old.x - now.x, old.y - now.y), i, k]);
  }));
  near.sort((a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2]);
  const [taken, met, pairs] = [new Set(), new Set(), []];
  for (const [far, i, k] of near) {
    if (taken.has(i) || met.has(k)) continue;
    taken.add(i);
    met.add(k);
    pairs.push({ far, old: before[i], now: after[k] });
  }
  return { pairs, gone: before.filter((_, i) => !taken.has(i)), fresh: after.filter((_, k) => !met.has(k)) };
}

function byFinding(spots) {
  const found = new Map();
  for (const spot of spots) found.set(spot.finding, [...(found.get(spot.finding) ?? []), spot]);
  return [...found];
}

function where(spots, finding) {
  const all = finding.spots.length;
  if (all === 1) return '';
  const names = [...new Set(spots.map((spot) => spot.subject).filter(Boolean))].join(', ');
  return ` at ${spots.length} of ${all} places${names ? ` (${names})` : ''}`;
}

// old against new, place by place: what has gone, what is new, what stays and is another figure
export function compared(before, after) {
  const { pairs, gone, fresh } = pairsOf(spotsOf(before), spotsOf(after)), lines = [];
  for (const [finding, spots] of byFinding(gone)) lines.push({ kind: 'gone', count: spots.length, text: `✓ gone${where(spots, finding)}: ${finding.words}` });
  for (const [finding, spots] of byFinding(fresh)) lines.push({ kind: 'fresh', count: spots.length, text: `${SIGN[finding.mark]} new${where(spots, finding)}: ${finding.words}` });
  const changes = new Map();
  for (const { far, old, now } of pairs) {
    const { mark, words } = now.finding, was = old.finding.mark;
    const change = was !== mark ? `a ${was} before, a ${mark} now`
      : old.value !== now.value && now.measure ? `${old.measure || 'nothing measured'} before, ${now.measure} now`
        : far > STAYS_MM ? 'at another place now' : '';
    if (!change) continue;
    // of one finding that changes alike at many places one line is enough
    const key = [now.finding, was], found = [...changes.keys()].find(([finding, mark]) => finding === now.finding && mark === was);
    const line = changes.get(found) ?? { kind: was !== mark && mark === 'must-fix' ? 'fresh' : 'other', count: 0, of: now.finding.spots.length > 1 && now.subject ? `${now.subject}: ` : '', change, mark, words };
    line.count += 1;
    changes.set(found ?? key, line);
  }
  for (const { kind, count, of, change, mark, words } of changes.values()) {
    const more = count > 1 ? `, and so at ${count - 1} more ${count > 2 ? 'places' : 'place'}` : '';
    lines.push({ kind, count, text: `${SIGN[mark]} ${of}${change}${more}: ${words}` });
  }
  return lines;
}

export class Trial {
  constructor(text) {
    this.text = text;
    this.told = null;
    find('check').addEventListener('submit', (event) => {
      const form = event.target.closest('form.try');
      if (!form) return;
      event.preventDefault();
      this.begin(form);
    });
    find('check').addEventListener('click', (event) => { if (event.target.matches?.('form.try .take')) this.takeIt(event.target.form); });
    find('trial-write').addEventListener('click', () => this.write());
    find('trial-back').addEventListener('click', () => this.back());
    find('trial-undo').addEventListener('click', () => { find('undo').click(); this.away(); });
    find('trial-done').addEventListener('click', () => this.away());
  }

  // one press: written to the job file at once, where nothing else is waiting to be written with it
  async takeIt(form) {
    const alone = !this.text.dirty;
    if (await this.begin(form) && alone) await this.write();
  }

  // whether there is something to try now
  async begin(form) {
    const edits = JSON.parse(form.dataset.edits), typed = form.elements.value?.value.trim();
    if (typed !== undefined) edits[0].value = edits[0].told = typed;
    const changes = edits.map(({ steps, value }) => ({ steps, value }));
    const before = this.now?.before ?? { told: this.told ?? [], text: this.text.area.value, tries: [] };
    const answer = await this.text.post('/edit', { text: this.text.area.value, changes }).catch(() => null);
    const changed = answer ? await answer.json() : { error: 'The bench does not answer.' };
    find('trial').hidden = false;
    if (!answer?.ok) {
      find('trial-what').textContent = changed.error;
      find('trial-told').replaceChildren(made('li', 'Nothing was tried, and the job file is as it was.'));
      this.buttons('none');
      return false;
    }
    for (const edit of edits) {
      const known = before.tries.find((each) => each.words === edit.words);
      if (known) known.told = edit.told; else before.tries.push(edit);
    }
    this.now = { before, text: changed.text };
    this.text.put(changed.text);
    find('trial-what').textContent = before.tries.map((each) => `${each.words}: ${each.was || 'not given'} before, ${each.told ?? 'taken out'} now`).join('; ');
    find('trial-told').replaceChildren(made('li', 'Being checked …'));
    this.buttons('trying');
    find('trial').focus({ preventScroll: true });
    return true;
  }

  buttons(state) {
    find('trial-write').hidden = state !== 'trying';
    find('trial-back').hidden = state !== 'trying';
    find('trial-undo').hidden = state !== 'written';
    find('trial-done').hidden = state === 'trying';
  }

  // a check has come in: what it tells now against what it told before
  take(parts) {
    if (parts.coarse) return;
    this.told = parts.told;
    if (!this.now || this.text.area.value !== this.now.text) return;
    const before = this.now.before.told, after = parts.told;
    const count = (list, mark) => list.filter((each) => each.mark === mark).reduce((sum, each) => sum + each.spots.length, 0);
    const lines = [made('li', [['must-fix', 'places to fix'], ['warning', 'places with a warning']].map(([mark, words]) => `${SIGN[mark]} ${words}: ${count(before, mark)} before, ${count(after, mark)} now`).join('; '), 'sum')];
    for (const { kind, text } of compared(before, after)) lines.push(made('li', text, kind));
    find('trial-told').replaceChildren(...lines);
  }

  // the text cannot be read with that value
  standing(now) {
    if (this.now && !this.now.written && now.slips.length && !now.busy) {
      find('trial-told').replaceChildren(made('li', `${SIGN['must-fix']} It cannot be read so: ${now.slips[0].message}.`, 'fresh'));
    }
  }

  async write() {
    const { now } = this;
    if (!await this.text.save()) { find('trial-told').append(made('li', 'It was not written; see beside the text below.', 'fresh')); return; }
    now.written = true;
    find('trial-what').textContent += ' (written to the job file)';
    this.buttons('written');
  }

  back() {
    this.text.put(this.now.before.text);
    this.away();
  }

  away() {
    this.now = null;
    find('trial').hidden = true;
  }
}
