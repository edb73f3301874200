// What is at stake: the points of no return, on the strip, at their stage, before their cut and their pour.

import { answered, ask, failed } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const AGAIN_MS = 900;
const SVG = 'http://www.w3.org/2000/svg';

function drawn(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

export class Stakes {
  constructor(strip) {
    this.strip = strip;
    this.stages = new Map();
    find('stakes').addEventListener('click', (event) => {
      const button = event.target.closest?.('.to-stage');
      if (!button) return;
      strip.go(Number(button.dataset.stage));
      strip.reel.focus({ preventScroll: true });
    });
  }

  // asked for behind the picture, once the check is there; a changed depth keeps what was told before
  async take(generation, parts) {
    this.generation = generation;
    if (parts.coarse) {
      if (!parts.sketch) this.stages.clear();
      return;
    }
    const told = await ask(`/asking/${generation}/stakes`).catch((error) => error);
    if (this.generation !== generation) return;
    if (told.status === 409) { setTimeout(() => { if (this.generation === generation) this.take(generation, parts); }, AGAIN_MS); return; }
    if (told instanceof Error) {
      this.clear();
      failed('stakes', `What is at stake before each step is not shown: ${told.message}`);
      return;
    }
    answered('stakes');
    this.stages = new Map(told.stages.map((each) => [each.stage, each]));
    this.band(told.stages);
    for (const place of document.querySelectorAll('[data-no-return]')) this.fold(place);
    find('stakes-run').innerHTML = told.run;
    find('stakes').hidden = !told.run;
    this.show(this.strip.stage);
  }

  clear() {
    this.stages.clear();
    for (const old of document.querySelectorAll('#reel .held, #reel .unseen')) old.remove();
    for (const place of document.querySelectorAll('[data-no-return]')) if (place.matches('.no-return-at')) this.fold(place);
    find('stakes').hidden = true;
    this.show(this.strip.stage);
  }

  // how a piece grows dearer from step to step, and an upright at each point of no return
  band(stages) {
    stages.forEach((each, index) => {
      const shot = document.querySelector(`#reel [data-stage="${each.stage}"]`);
      if (!shot) return;
      shot.querySelectorAll('.held, .unseen').forEach((old) => old.remove());
      const after = stages[index + 1]?.held ?? 1;
      const band = drawn('svg', { class: 'held', viewBox: '0 0 72 12', preserveAspectRatio: 'none', 'aria-hidden': 'true' });
      band.append(drawn('path', { d: `M0 12V${12 - 11 * each.held}L72 ${12 - 11 * after}V12z` }));
      if (each.html) {
        band.append(drawn('rect', { x: 0, y: 0, width: (1.5 + 4.5 * each.stake).toFixed(1), height: 12 }));
        const words = document.createElement('i');
        words.className = 'unseen';
        words.textContent = `, ${each.words}`;
        shot.append(words);
      }
      shot.append(band);
    });
  }

  fold(place) {
    const point = this.stages.get(Number(place.dataset.noReturn));
    place.hidden = !point?.html;
    if (place.hidden) return;
    const summary = document.createElement('summary'), body = document.createElement('div');
    summary.textContent = `Point of no return before stage ${point.stage}: ${point.short} in each piece`;
    body.className = 'no-return';
    body.innerHTML = point.html;
    const fold = document.createElement('details');
    fold.append(summary, body);
    place.replaceChildren(fold);
  }

  show(stage) {
    const point = this.stages.get(stage), place = find('no-return'), line = find('stage-no-return');
    place.hidden = !point?.html;
    line.textContent = point?.html ? `Point of no return: ${point.short} in each piece when this step begins.` : '';
    line.classList.toggle('no-way', Boolean(point?.html));
    if (place.hidden) return;
    find('no-return-title').textContent = `Point of no return before stage ${stage}`;
    find('no-return-body').innerHTML = point.html;
  }
}
