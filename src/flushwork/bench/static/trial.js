// A remedy tried before it is written: the job's text with one value changed, old against new.

const find = (name) => document.getElementById(name);

function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

const same = (a) => `${a.code} ${a.subject}`;
const SIGN = { stop: '■', caution: '▲', note: '●' };

export class Trial {
  constructor(text) {
    this.text = text;
    this.told = null;
    find('proof').addEventListener('submit', (event) => {
      const form = event.target.closest('form.try');
      if (!form) return;
      event.preventDefault();
      this.begin(form);
    });
    find('trial-write').addEventListener('click', () => this.write());
    find('trial-back').addEventListener('click', () => this.back());
    find('trial-undo').addEventListener('click', () => { find('undo').click(); this.away(); });
    find('trial-done').addEventListener('click', () => this.away());
  }

  async begin(form) {
    const { key, was, words } = form.dataset, value = form.elements.value.value.trim();
    const before = this.now?.before ?? { told: this.told ?? [], text: this.text.area.value, tries: [] };
    const answer = await this.text.post('/edit', { text: this.text.area.value, key, value }).catch(() => null);
    const changed = answer ? await answer.json() : { error: 'The bench does not answer.' };
    find('trial').hidden = false;
    if (!answer?.ok) {
      find('trial-what').textContent = changed.error;
      find('trial-told').replaceChildren(made('li', 'Nothing was tried, and the job file is as it was.'));
      this.buttons('none');
      return;
    }
    before.tries = [...before.tries.filter((each) => each.key !== key), { key, words, was: before.tries.find((each) => each.key === key)?.was ?? was, value }];
    this.now = { before };
    this.text.put(changed.text);
    find('trial-what').textContent = before.tries.map((each) => `${each.words}: ${each.was || 'not given'} before, ${each.value} now`).join('; ');
    find('trial-told').replaceChildren(made('li', 'Being proved …'));
    this.buttons('trying');
    find('trial').focus({ preventScroll: true });
  }

  buttons(state) {
    find('trial-write').hidden = state !== 'trying';
    find('trial-back').hidden = state !== 'trying';
    find('trial-undo').hidden = state !== 'written';
    find('trial-done').hidden = state === 'trying';
  }

  // a proof has come in: what it tells now against what it told before
  take(parts) {
    if (parts.coarse) return;
    this.told = parts.told;
    if (!this.now || this.now.written) return;
    const before = this.now.before.told, after = parts.told;
    const old = new Map(before.map((each) => [same(each), each])), fresh = new Map(after.map((each) => [same(each), each]));
    const count = (list, mark) => list.filter((each) => each.mark === mark).length;
    const lines = [made('li', ['stop', 'caution'].map((mark) => `${SIGN[mark]} ${mark}s: ${count(before, mark)} before, ${count(after, mark)} now`).join('; '), 'sum')];
    for (const [name, each] of old) {
      const now = fresh.get(name);
      if (!now) lines.push(made('li', `✓ gone: ${each.words}`, 'gone'));
      else if (now.value !== each.value && now.measure) lines.push(made('li', `${SIGN[now.mark]} ${each.measure} before, ${now.measure} now: ${now.words}`));
    }
    for (const [name, each] of fresh) if (!old.has(name)) lines.push(made('li', `${SIGN[each.mark]} new: ${each.words}`, 'fresh'));
    find('trial-told').replaceChildren(...lines);
  }

  // the text cannot be read with that value
  standing(now) {
    if (this.now && !this.now.written && now.slips.length && !now.busy) {
      find('trial-told').replaceChildren(made('li', `${SIGN.stop} It cannot be read so: ${now.slips[0].message}.`, 'fresh'));
    }
  }

  async write() {
    if (!await this.text.save()) { find('trial-told').append(made('li', 'It was not written; see beside the text below.', 'fresh')); return; }
    this.now.written = true;
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
