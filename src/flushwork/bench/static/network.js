// @ts-check
// The door to the shop's own network: shut until it is opened here, with a code for one phone at a time.

import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);

export class Network {
  constructor() {
    find('net-on').addEventListener('click', () => this.turn(true));
    find('net-again').addEventListener('click', () => this.turn(true));
    find('net-shut').addEventListener('click', () => this.turn(false));
    this.look();
  }

  async turn(on) {
    const said = find('net-said');
    try {
      const answer = await fetch('/network', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ on }) });
      const now = await answer.json();
      said.textContent = answer.ok ? '' : now.error;
      if (answer.ok) { this.draw(now); this.follow(now); }
      if (answer.ok && on) find('net-open').scrollIntoView({ block: 'nearest' });
    } catch { said.textContent = 'The bench does not answer.'; }
  }

  async look() {
    try {
      const now = await ask('/network');
      find('net-said').textContent = '';
      this.draw(now);
      this.follow(now);
    } catch (error) {
      // an old code leads nowhere
      find('code').hidden = true;
      find('net-link').textContent = '';
      find('net-words').textContent = '';
      this.shown = null;
      find('net-said').textContent = `Whether the door is open is not known: ${error.message}`;
      this.follow({ on: true });
    }
  }

  follow(now) {
    clearTimeout(this.again);
    if (now.on) this.again = setTimeout(() => this.look(), 2500);
  }

  draw(now) {
    find('net-off').hidden = now.on;
    find('net-open').hidden = !now.on;
    if (!now.on) { find('code').replaceChildren(); this.shown = ''; return; }
    if (now.link !== this.shown) {
      this.shown = now.link;
      find('code').innerHTML = now.code;
      find('code').hidden = !now.link;
      find('net-link').textContent = now.link;
    }
    const minutes = Math.ceil(now.lasts_s / 60), phones = now.phones === 1 ? 'One phone has' : `${now.phones || 'No'} phones have`;
    const words = now.link ? `Scan this with the phone; it is good once, for ${minutes} more minute${minutes === 1 ? '' : 's'}. ${phones} come in.`
      : `The code has been used or is too old. ${phones} come in.`;
    if (find('net-words').textContent !== words) find('net-words').textContent = words;
  }
}
