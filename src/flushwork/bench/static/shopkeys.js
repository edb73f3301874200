// The shop's own file: each field an edit of one key, with undo and redo.

import { why } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const state = () => find('state').dataset;
let busy = Promise.resolve();

// ask for a change; ``refused`` tells what cannot be, where it was asked for
function change(path, sent, done, refused) {
  busy = busy.then(async () => {
    const body = JSON.stringify({ ...sent, was: state().digest, part: state().part });
    const headers = { 'content-type': 'application/json' };
    const answer = await fetch(path, { method: 'POST', headers, body }).catch(() => null);
    const told = await answer?.clone().json().catch(() => null);
    if (answer?.ok) {
      draw(told.html);
      find('said').textContent = done;
    } else if (told?.stale) {
      location.reload();
    } else {
      const words = await why(answer);
      refused.textContent = words[0].toUpperCase() + words.slice(1);
    }
    document.documentElement.dataset.asked = Number(document.documentElement.dataset.asked ?? 0) + 1;
  });
  return busy;
}

// the part as it is by now; what is unfolded and in focus stays so
function draw(html) {
  const open = [...document.querySelectorAll('.things details[open]')].map((each) => each.closest('li').dataset.name);
  const focus = document.activeElement?.id;
  find('part').innerHTML = html;
  for (const thing of document.querySelectorAll('.things li')) {
    if (open.includes(thing.dataset.name)) thing.querySelector('details').open = true;
  }
  if (focus) find(focus)?.focus();
}

document.addEventListener('change', (event) => {
  const key = event.target.closest('.key');
  if (!key) return;
  const typed = event.target.value.trim();
  const value = typed && 'several' in key.dataset ? `[${typed}]` : typed;
  const label = key.querySelector('label').textContent;
  change('/shop/set', { steps: JSON.parse(key.dataset.steps), value: value || null },
    value ? `${label}: ${typed}.` : `${label} is left out.`, key.querySelector('.refused'));
});

document.addEventListener('click', (event) => {
  const way = event.target.closest('[data-way]')?.dataset.way;
  if (way) change(`/shop/${way}`, {}, way === 'undo' ? 'Undone.' : 'Done again.', find('said'));
  const out = event.target.closest('[data-out]');
  if (out) {
    const { name } = out.closest('li').dataset;
    change('/shop/out', { name }, `${name} is taken out.`, find('more-said'));
  }
  if (event.target.id === 'add-spare') {
    const name = find('spare').value;
    change('/shop/add', { name, like: '' }, `${name} is added.`, find('more-said'));
  }
  if (event.target.id === 'add-own') {
    const name = find('own-name').value, like = find('own-like').value;
    change('/shop/add', { name, like }, `${name} is added; open it and put in what differs.`, find('more-said'));
  }
});
document.addEventListener('keydown', (event) => {
  if (event.key === 'Enter' && event.target.matches('.key input')) event.target.blur();
});

document.documentElement.dataset.ready = '';
