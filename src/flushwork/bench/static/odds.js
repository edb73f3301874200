// @ts-check
// How likely a piece comes out right: bars, sliders for what can be steadied, a map over the board.

import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const QUIET_MS = 350;
const AGAIN_MS = 900;

// five bands, told by shade, by pattern and by words alike
const BANDS = [
  { least: 0.999, words: 'over 999', ink: '#f3ecd9', hatch: 0 },
  { least: 0.99, words: 'over 990', ink: '#f2cf85', hatch: 0 },
  { least: 0.95, words: 'over 950', ink: '#ec9a4a', hatch: 9 },
  { least: 0.8, words: 'over 800', ink: '#c9582a', hatch: 6 },
  { least: -1, words: 'fewer', ink: '#7d1d1a', hatch: 3.5 },
];

// as a count of 100, and in words where it is as good as certain
function chances(share) {
  if (share > 0.9995) return 'nearly always';
  if (share < 0.0005) return 'hardly ever';
  return `${(share * 100).toFixed(share > 0.995 || share < 0.1 ? 1 : 0)} in 100`;
}

function band(odds) { return BANDS.findIndex((each) => odds >= each.least); }

function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

function steadied(scales) { return Object.values(scales).some((scale) => scale !== 1); }

function patterns(element, over) {
  const defs = element('defs', {}, over);
  BANDS.forEach(({ hatch, ink }, at) => {
    const side = hatch || 8;
    const pattern = element('pattern', { id: `band-${at}`, width: side, height: side, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' }, defs);
    element('rect', { width: side, height: side, fill: ink, 'fill-opacity': 0.82 }, pattern);
    if (hatch) element('rect', { width: 1.4, height: side, fill: '#2a1208', 'fill-opacity': 0.7 }, pattern);
  });
}

export class Odds {
  constructor(board, strip) {
    this.board = board;
    this.strip = strip;
    this.scales = {};
    find('variations').addEventListener('input', (event) => this.slid(event.target));
    find('steady-back').addEventListener('click', () => this.asTheyAre());
    find('heat').addEventListener('click', () => this.heat(!this.shown));
    find('losses').addEventListener('click', (event) => {
      const button = event.target.closest?.('button[data-face]');
      if (!button) return;
      this.heat(true);
      board.goTo(button.dataset.face, Number(button.dataset.x), Number(button.dataset.y));
      board.canvas.focus({ preventScroll: true });
    });
  }

  take(generation, coarse) {
    this.generation = generation;
    clearTimeout(this.again);
    this.asIs = undefined;
    if (coarse) {
      find('odds').classList.add('waiting');
      if (this.data) find('odds-words').textContent = 'These are the odds of before; those of what you changed follow with its check.';
      return;
    }
    this.ask(false);
  }

  slid(slider) {
    this.scales[slider.name] = 2 ** Number(slider.value);
    this.said(slider);
    this.ask(true);
    clearTimeout(this.quiet);
    this.quiet = setTimeout(() => this.ask(false), QUIET_MS);
  }

  said(slider) {
    const times = 2 ** Number(slider.value);
    const words = times === 1 ? 'as it is' : times < 1 ? `${Math.round(times * 100)} % of it` : `${times.toFixed(1)} times it`;
    slider.parentElement.querySelector('output').textContent = words;
    slider.setAttribute('aria-valuetext', words);
  }

  asTheyAre() {
    this.scales = {};
    for (const slider of find('variations').querySelectorAll('input')) { slider.value = '0'; this.said(slider); }
    this.ask(false);
  }

  // one question at a time; the latest wins
  async ask(quick) {
    this.wanted = { quick };
    if (this.asking) return;
    this.asking = true;
    try {
      while (this.wanted) {
        const { quick: now } = this.wanted, scales = { ...this.scales }, { generation } = this;
        this.wanted = null;
        // sliders stay where they are while the job changes: what they are held against is asked anew
        const asIs = steadied(scales) ? this.asIs ?? await this.answer(generation, {}, false) : undefined;
        const data = await this.answer(generation, scales, now);
        if (generation !== this.generation || data === undefined) continue;
        if (data instanceof Error) { this.none(data.message); continue; }
        this.asIs = asIs instanceof Error ? undefined : asIs ?? data;
        this.draw(data, steadied(scales));
      }
    } finally { this.asking = false; }
  }

  async answer(generation, scales, quick) {
    const data = await ask(`/asking/${generation}/odds`, {
      method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ scales, quick }),
    }).catch((error) => error);
    if (data.status !== 409) return data;
    // a change has come between: what was asked is asked again once all rests, if it still matters
    this.later(generation, quick);
    return undefined;
  }

  // no odds rather than those of something else
  none(words) {
    this.data = null;
    find('odds').classList.add('waiting');
    find('odds-words').textContent = `The odds are not known: ${words}`;
    for (const name of ['outcomes', 'losses', 'sure-list']) find(name).replaceChildren();
    find('each-said').textContent = find('steadier').textContent = '';
    find('each-piece').firstElementChild.style.width = '0';
    find('sure').hidden = find('no-loss').hidden = true;
    this.board.soon();
  }

  later(generation, quick) {
    clearTimeout(this.again);
    this.again = setTimeout(() => { if (generation === this.generation) this.ask(quick); }, AGAIN_MS);
  }

  draw(data, moved) {
    this.data = data;
    find('odds').classList.remove('waiting');
    find('odds-words').textContent = data.summary;
    this.outcomes(data);
    find('each-said').textContent = chances(data.piece);
    find('each-piece').firstElementChild.style.width = `${100 * data.piece}%`;
    this.losses(data);
    this.sliders(data);
    find('steady-back').hidden = !moved;
    const before = this.asIs?.piece;
    find('steadier').textContent = moved && before !== undefined
      ? `So ${(data.piece * 1000).toFixed(0)} of 1000 pieces come out right; as the shop is, ${(before * 1000).toFixed(0)}.` : '';
    if (this.shown) this.board.soon();
  }

  outcomes(data) {
    const pieces = data.outcomes.length - 1;
    const rows = data.outcomes.map((share, count) => ({ share, count })).reverse().map(({ share, count }) => {
      const row = made('li'), bar = made('span', '', `bar ${count === pieces ? 'good' : ''}`), words = made('span', '', 'bar-words');
      bar.append(made('i'));
      bar.firstChild.style.width = `${share * 100}%`;
      words.append(made('b', count === pieces ? (pieces > 1 ? `All ${pieces}` : 'The piece') : count ? `${count} of ${pieces}` : pieces > 1 ? 'None' : 'Not'), made('span', `${chances(share)}${share > 0.9995 || share < 0.0005 ? '' : ' runs'}`));
      row.append(words, bar);
      return row;
    });
    find('outcomes').replaceChildren(...rows);
  }

  losses(data) {
    const worst = Math.max(1, ...data.losses.map((each) => each.lost));
    const row = (loss) => {
      const item = made('li'), words = made('span', '', 'bar-words'), bar = made('span', '', 'bar');
      words.append(made('b', loss.words), made('span', `${loss.lost < 0.05 ? 'hardly any' : loss.lost.toFixed(loss.lost < 10 ? 1 : 0)} of 1000`));
      bar.append(made('i'));
      bar.firstChild.style.width = `${loss.lost / worst * 100}%`;
      item.append(words, bar, made('small', loss.detail));
      if (loss.at) {
        const go = made('button', 'Show where');
        Object.assign(go.dataset, { face: loss.face, x: loss.at[0], y: loss.at[1] });
        go.type = 'button';
        go.className = 'where';
        go.setAttribute('aria-label', `Show where: ${loss.words}`);
        item.append(go);
      }
      return item;
    };
    const large = data.losses.filter((each) => !each.small), small = data.losses.filter((each) => each.small);
    find('losses').replaceChildren(...large.map(row));
    find('no-loss').hidden = large.length > 0;
    find('sure').hidden = !small.length;
    find('sure-count').textContent = `${small.length}${large.length ? ' more' : ' things'}`;
    find('sure-list').replaceChildren(...small.map(row));
  }

  sliders(data) {
    const place = find('variations'), names = data.causes.map((cause) => cause.name).join(' ');
    if (place.dataset.names === names) return;
    place.dataset.names = names;
    place.replaceChildren(...data.causes.map((cause) => {
      const label = made('label'), slider = document.createElement('input');
      Object.assign(slider, { type: 'range', min: -2, max: 1.5, step: 0.1, value: Math.log2(this.scales[cause.name] ?? 1), name: cause.name });
      label.append(made('b', cause.words), slider, made('output', 'as it is'), made('small', `Now ${cause.now}${cause.shared ? ', the same for the whole run' : ''}. ${cause.tighten}.`));
      setTimeout(() => this.said(slider));
      return label;
    }));
  }

  heat(on) {
    this.shown = on;
    const button = find('heat');
    button.setAttribute('aria-pressed', String(on));
    button.textContent = on ? 'Hide the map' : 'Show it on the board';
    find('legend').hidden = !on;
    if (on) {
      this.strip.go(this.strip.last);
      this.legend();
    }
    this.board.heat = on ? (over, element) => this.paint(over, element) : null;
    this.board.soon();
  }

  legend() {
    const place = find('legend');
    place.replaceChildren(made('span', 'Of 1000 pieces right here: '), ...BANDS.map(({ words }, at) => {
      const item = made('span', '', 'legend-item');
      item.innerHTML = `<svg viewBox="0 0 26 14" aria-hidden="true"><rect x=".5" y=".5" width="25" height="13" fill="url(#band-${at})" stroke="currentColor"/></svg>`;
      item.append(words);
      return item;
    }));
  }

  paint(over, element) {
    const map = this.data?.map?.[this.board.face];
    if (!map) return;
    const { camera } = this.board;
    patterns(element, over);
    const labels = [];
    const put = (x, y, odds) => { if (odds < 0.9995) labels.push([x, y, odds]); };
    for (const region of map.regions) {
      const d = region.rings.map((ring) => `M${ring.map(([x, y]) => camera.toScreen(x, y).map((v) => v.toFixed(1)).join(' ')).join('L')}Z`).join('');
      const shape = element('path', { d, 'fill-rule': 'evenodd', fill: `url(#band-${band(region.odds)})`, stroke: '#3b2313', 'stroke-width': 0.8 }, over);
      element('title', {}, shape).textContent = `${region.name}: ${(region.odds * 1000).toFixed(1)} of 1000`;
      const [x, y] = camera.toScreen(...region.rings[0][0]);
      put(x, y, region.odds);
    }
    for (const line of map.lines) {
      const radius = Math.min(9, Math.max(2.5, 0.5 * camera.scale));
      const order = line.odds.map((_, i) => i).sort((a, b) => line.odds[b] - line.odds[a]);
      for (const i of order) {
        const [x, y] = camera.toScreen(line.at[i * 2], line.at[i * 2 + 1]), at = band(line.odds[i]);
        element('circle', { cx: x.toFixed(1), cy: y.toFixed(1), r: (radius * (1 + at * 0.18)).toFixed(1), fill: BANDS[at].ink, stroke: '#3b2313', 'stroke-width': at ? 1 : 0.4 }, over);
      }
      const weakest = order[order.length - 1];
      if (weakest !== undefined) put(...camera.toScreen(line.at[weakest * 2], line.at[weakest * 2 + 1]), line.odds[weakest]);
    }
    for (const [x, y, odds] of labels) {
      const text = element('text', { class: 'heat-figure', x: x + 8, y: y - 8 }, over);
      text.textContent = (odds * 1000).toFixed(odds > 0.99 ? 1 : 0);
    }
  }
}
