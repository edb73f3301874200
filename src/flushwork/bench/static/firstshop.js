// The first minute: five things about a shop, then the first job.

import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const travel = JSON.parse(find('given').dataset.travel);
const ways = ['right', 'away', 'up'].map((way) => find(`travel-${way}`));
const chosen = (name) => [...document.querySelectorAll(`[name=${name}]:checked`)].map((each) => each.value);

let before = 'metric';

// what was not typed over is shown in the other units
document.addEventListener('change', (event) => {
  if (event.target.name !== 'units') return;
  const now = event.target.value;
  ways.forEach((field, at) => { if (field.value === travel[before][at]) field.value = travel[now][at]; });
  before = now;
});

find('write').addEventListener('click', async () => {
  const sent = {
    units: chosen('units')[0],
    travel: ways.map((field) => field.value),
    bits: chosen('bits'),
    resin: chosen('resin')[0],
    scales: chosen('scales'),
  };
  try {
    await ask('/first', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(sent) });
    location.href = '/#start';
  } catch (error) {
    find('said').textContent = error.message[0].toUpperCase() + error.message.slice(1);
  }
});

document.documentElement.dataset.ready = '';
