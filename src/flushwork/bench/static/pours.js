// @ts-check
// Weighing cards that follow along, other amounts, and the pockets a pour serves.

import { weighAlong } from '/static/along.js';
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

  along(form) {
    const { pour } = form.closest('.pour').dataset;
    return weighAlong(form, (body) => this.post(pour, 'weighed', body));
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
