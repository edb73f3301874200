// Weighing cards that follow along, other amounts, and the pockets a pour serves.

import { answered, ask, failed } from '/static/asked.js';

const find = (name) => document.getElementById(name);

export class Pours {
  constructor(board, strip) {
    this.board = board;
    this.strip = strip;
    this.place = find('pours');
    this.place.addEventListener('input', (event) => {
      const form = event.target.closest('form');
      if (form?.classList.contains('along')) this.along(form);
      else if (form?.classList.contains('other')) this.other(form, event.target);
    });
    this.place.addEventListener('submit', (event) => event.preventDefault());
    this.place.addEventListener('click', (event) => {
      const button = event.target.closest?.('button.pockets');
      if (button) this.pockets(button);
    });
  }

  post(pour, what, body) {
    const units = document.documentElement.dataset.units;
    return ask(`/doing/${this.board.film.generation}/pour/${pour}/${what}?units=${units}`, {
      method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body),
    });
  }

  async along(form) {
    const told = form.querySelector('output'), unit = Number(form.dataset.g);
    const number = (name) => parseFloat(form.elements[name].value) * unit;
    const resin = number('resin'), before = number('before'), after = number('after');
    form.asked = (form.asked ?? 0) + 1;
    const mine = form.asked;
    if (!(resin > 0)) { told.textContent = ''; return; }
    const beside = Number.isFinite(before) ? before - resin : Number(form.dataset.beside);
    if (beside < 0) { told.textContent = 'Before the hardener it cannot show less than with the resin alone.'; return; }
    // what was told is of another weight by now
    told.textContent = '';
    const now = await this.post(form.closest('.pour').dataset.pour, 'weighed', {
      resin_g: resin, beside_g: beside, shown_g: Number.isFinite(after) ? after : null,
    }).catch((error) => error);
    if (mine !== form.asked) return;
    if (now instanceof Error) { told.textContent = `Nothing can be told: ${now.message}`; return; }
    const places = Math.max(0, Math.round(-Math.log10(now.step_g / unit)));
    const g = (value) => `${(value / unit).toFixed(places)} ${form.dataset.unit}`;
    if (!Number.isFinite(after)) {
      told.textContent = now.fine
        ? `Add hardener until it shows ${g(now.target_g)}; stop between ${g(now.low_g)} and ${g(now.high_g)}.`
        : `This is too little for this scale: even its own rounding is more than the ratio bears. Make more, or take a finer scale.`;
    } else if (!now.kind) told.textContent = `The ratio holds (${(now.over * 100).toFixed(1)} % off). Stir.`;
    else {
      told.textContent = `${Math.abs(now.over * 100).toFixed(1)} % too ${now.over > 0 ? 'much' : 'little'} hardener. `
        + `Add ${g(now.add_g)} of ${now.kind}, until it shows ${g(now.then_g)}.`;
    }
  }

  async other(form, field) {
    const pour = form.closest('.pour'), told = form.querySelector('output'), value = parseFloat(field.value);
    form.asked = (form.asked ?? 0) + 1;
    const mine = form.asked;
    if (!(value > 0)) { told.textContent = ''; return; }
    for (const each of form.elements) if (each !== field && each.name === 'hardener') each.value = '';
    const now = await this.post(pour.dataset.pour, 'scaled', field.name === 'pieces' ? { pieces: value } : { hardener_g: value * Number(form.dataset.g) }).catch((error) => error);
    if (mine !== form.asked) return;
    // a card of other amounts than asked for is none
    pour.querySelector('.card').hidden = now instanceof Error;
    if (now instanceof Error) { told.textContent = `No card for that: ${now.message}`; return; }
    told.textContent = `Card for ${now.pieces} ${now.pieces === 1 ? 'piece' : 'pieces'}.`;
    if (field.name === 'hardener') form.elements.pieces.value = now.pieces;
    pour.querySelector('.card').innerHTML = now.html;
  }

  async pockets(button) {
    const on = button.getAttribute('aria-pressed') !== 'true';
    for (const each of document.querySelectorAll('button.pockets')) {
      each.setAttribute('aria-pressed', 'false');
      each.textContent = 'Show its pockets';
    }
    this.board.extra = null;
    if (on) {
      const pour = button.closest('.pour').dataset;
      const told = await ask(`/doing/${this.board.film.generation}/pour/${pour.pour}/pockets`).catch((error) => error);
      if (told instanceof Error) { failed('pockets', `The pockets are not shown: ${told.message}`); this.board.soon(); return; }
      answered('pockets');
      const { pockets } = told;
      button.setAttribute('aria-pressed', 'true');
      button.textContent = 'Hide its pockets';
      this.board.extra = (over, element) => this.draw(pockets, over, element);
      this.strip.go(Math.max(0, Number(pour.stage) - 1));
      if (pockets.length && pockets[0].face !== this.board.face) this.board.turnOver(pockets[0].face);
    }
    this.board.soon();
  }

  // from the other side the pockets show mirrored, as dashed outlines
  draw(pockets, over, element) {
    const { camera, film, face } = this.board;
    for (const pocket of pockets) {
      const behind = pocket.face !== face;
      const at = ([x, y]) => {
        const [bx, by] = !behind ? [x, y] : film.turn_about_x ? [x, film.width_mm - y] : [film.length_mm - x, y];
        return camera.toScreen(bx, by).map((v) => v.toFixed(1)).join(' ');
      };
      const d = pocket.rings.map((ring) => `M${ring.map(at).join('L')}Z`).join('');
      element('path', { class: `pocket${behind ? ' behind' : ''}`, d, 'fill-rule': 'evenodd' }, over);
    }
  }
}
