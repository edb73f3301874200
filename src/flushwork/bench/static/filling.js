// The colour of what is in hand by touch: jars of mixes, a new mix, and a picture reduced to fewer colours.

import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const SVG = 'http://www.w3.org/2000/svg';
const units = document.documentElement.dataset.units;

export function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

function jar(colour) {
  const drawn = document.createElementNS(SVG, 'svg');
  drawn.setAttribute('viewBox', '0 0 24 28');
  drawn.setAttribute('aria-hidden', 'true');
  for (const [name, attributes] of [
    ['rect', { x: 5, y: 1, width: 14, height: 4, rx: 1, fill: 'none', stroke: 'currentColor' }],
    ['path', { d: 'M6 5h12v2c3 1 4 3 4 5v12c0 2-1 3-3 3H5c-2 0-3-1-3-3V12c0-2 1-4 4-5z', fill: 'none', stroke: 'currentColor' }],
    ['path', { d: 'M3.5 13h17v10.5c0 1.5-.5 2-2 2h-13c-1.5 0-2-.5-2-2z', fill: colour }],
  ]) {
    const part = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, value);
    drawn.append(part);
  }
  return drawn;
}

export class Filling {
  constructor(making) {
    this.making = making;
    const { hand } = making, form = find('mix-form');
    document.addEventListener('in-hand', () => this.held());
    find('jars').addEventListener('keydown', (event) => {
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key], all = [...find('jars').children];
      const at = all.indexOf(document.activeElement);
      if (!by || at < 0) return;
      event.preventDefault();
      all[(at + by + all.length) % all.length].focus();
    });
    form.addEventListener('submit', async (event) => {
      event.preventDefault();
      const { elements } = form, pigments = [elements.first.value, elements.second.value].filter(Boolean);
      const now = await making.change('/making/mix', { name: elements.name.value.trim(), pigments, resin: elements.resin.value, thing: hand.key });
      if (!now) return;
      making.say(`Filled with ${now.name}; not saved yet.`);
      elements.name.value = '';
      find('mix-new').open = false;
      this.chosen = now.name;
      await making.atHand();
    });
    const sliders = find('picture-form');
    sliders.addEventListener('submit', (event) => event.preventDefault());
    sliders.addEventListener('input', () => { this.tell(); this.trace(); });
    sliders.addEventListener('change', () => this.keep());
  }

  take(known) {
    this.known = known;
    const { elements } = find('mix-form'), names = known.pigments.map((each) => each.name);
    this.making.fill(elements.first, names);
    this.making.fill(elements.second, ['', ...names], '', ['nothing else', ...names]);
    this.making.fill(elements.resin, known.resins);
    this.jars();
  }

  // something else is in hand, or the same of another text
  async held() {
    const { hand, text } = this.making, key = hand.key;
    if (!['inlay', 'holes'].includes(hand.kind)) return;
    if (this.key !== key) { find('hand-said').textContent = ''; this.chosen = ''; }
    this.key = key;
    const told = await ask('/making/with', text.sent({ text: text.area.value, thing: key })).catch(() => null);
    if (key !== hand.key || !told) return;
    this.with = told;
    this.chosen = told.fill;
    this.making.placing.know(key, told);
    find('colour-part').hidden = hand.kind !== 'inlay';
    const others = told.mates.filter((each) => each !== key).map((each) => each.split('/').slice(2).join('/'));
    find('with-it').textContent = others.length ? `${others.join(', ')} of the same drawing go${others.length > 1 ? '' : 'es'} with it.` : '';
    this.picture(told.picture);
    if (!this.known || told.mixes.join('\n') !== this.known.mixes.map((each) => each.name).join('\n')) await this.making.atHand(); else this.jars();
    document.documentElement.dataset.known = key;
  }

  jars() {
    const { hand } = this.making, place = find('jars'), focus = place.contains(document.activeElement);
    place.replaceChildren(...(this.known?.mixes ?? []).map((mix) => {
      const one = made('button', '', 'jar'), chosen = mix.name === this.chosen;
      one.type = 'button';
      one.setAttribute('role', 'radio');
      one.setAttribute('aria-checked', String(chosen));
      one.append(jar(mix.colour), made('span', mix.name));
      one.addEventListener('click', async () => {
        if (mix.name === this.chosen) return;
        const now = await this.making.change('/making/lie', { thing: hand.key, how: 'fill', by: mix.name }, `Filled with ${mix.name}; not saved yet.`);
        if (now) { this.chosen = mix.name; this.jars(); }
      });
      one.tabIndex = chosen ? 0 : -1;
      return one;
    }));
    if (!place.querySelector('[tabindex="0"]') && place.firstElementChild) place.firstElementChild.tabIndex = 0;
    if (focus) place.querySelector('[tabindex="0"]')?.focus();
  }

  // ---- a picture: its sliders act at once, the traced board beside the original

  picture(told) {
    find('picture-part').hidden = !told;
    if (!told) return;
    const { elements } = find('picture-form'), was = find('picture-was');
    const source = `/making/picture?file=${encodeURIComponent(told.file)}`;
    if (was.getAttribute('src') !== source) was.src = source;
    if (find('picture-form').contains(document.activeElement) && this.tracing) return;
    elements.colours.value = told.colours;
    elements.speck.value = told.speck_mm;
    elements.smooth.value = told.smooth_mm;
    elements.even.checked = told.even_light;
    this.tell();
    this.trace();
  }

  get settings() {
    const { elements } = find('picture-form');
    return { colours: Number(elements.colours.value), speck: Number(elements.speck.value), smooth: Number(elements.smooth.value), even: elements.even.checked };
  }

  tell() {
    const { colours, speck, smooth } = this.settings;
    const length = (value) => (units === 'inch' ? `${(value / 25.4).toFixed(3)} in` : `${value.toFixed(1)} mm`);
    [...find('picture-form').querySelectorAll('output')].forEach((each, at) => { each.textContent = [colours, length(speck), length(smooth)][at]; });
  }

  // the newest question wins; one at a time, so that a slider never waits for what it has left behind
  async trace() {
    if (this.tracing) { this.again = true; return; }
    this.tracing = true;
    try {
      const { hand, text } = this.making;
      const told = await ask('/making/trace', text.sent({ text: text.area.value, thing: hand.key, ...this.settings })).catch((error) => error);
      if (told instanceof Error) { find('picture-said').textContent = told.message; return; }
      const place = find('picture-now');
      place.setAttribute('viewBox', `0 0 ${told.size[0]} ${told.size[1]}`);
      place.replaceChildren();
      for (const { colour, d } of told.parts) {
        const part = document.createElementNS(SVG, 'path');
        part.setAttribute('d', d);
        part.setAttribute('fill', colour);
        part.setAttribute('fill-rule', 'evenodd');
        place.append(part);
      }
      find('picture-said').textContent = told.said;
      find('picture-form').dataset.traced = JSON.stringify(this.settings);
    } finally {
      this.tracing = false;
      if (this.again) { this.again = false; this.trace(); }
    }
  }

  async keep() {
    const { making } = this;
    const now = await making.change('/making/retrace', { thing: making.hand.key, ...this.settings }, 'Traced anew; not saved yet.');
    if (now && now.things.length && !now.things.includes(making.hand.key)) making.hand.hold(now.things[0], true);
    if (now) making.atHand();
  }
}
