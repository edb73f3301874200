// @ts-check
// What the text that is tried asks for and the saved job does not: rounds, setups, bits, minutes, days, money.

import { ask } from '/static/asked.js';
import { PAGE } from '/static/page.js';

const find = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.getElementById(name));

export class OldNew {
  /** @param {any} text */
  constructor(text) {
    this.text = text;
    this.asked = 0;
    this.was = '';
    document.addEventListener('taken', () => this.look());
  }

  // at once what follows from the plan alone; the rest as soon as it is cut and checked
  async look() {
    const { text } = this, place = find('old-new'), words = text.area.value, mine = (this.asked += 1);
    if (!text.dirty || !text.saved) return;
    const told = await ask('/making/change', text.sent({ text: words, page: PAGE })).catch(() => null);
    // what cannot be read is told where it is typed
    if (mine !== this.asked) return;
    if (!told) { place.textContent = 'What it asks for more is not known: the text cannot be read.'; return; }
    const same = told.known ? 'The same rounds, setups, bits, minutes and days as the saved job.' : 'The same rounds and setups as the saved job.';
    const line = told.told.length ? `Against the saved job: ${told.told.join(', ')}.` : same;
    const later = told.known ? '' : ' Minutes and days follow with the check.';
    if (line + later !== place.textContent) place.textContent = line + later;
    place.dataset.known = String(told.known);
  }
}
