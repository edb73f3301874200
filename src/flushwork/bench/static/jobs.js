// @ts-check
// The shop's page: cards of its jobs, and what is done with them.

import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const MOST_READ = 40;
const json = { 'content-type': 'application/json' };

const post = (path, sent) => ask(path, { method: 'POST', headers: json, body: JSON.stringify(sent) });

// ---- what has happened, and the way back

function say(words, back = null, label = 'Undo') {
  const place = find('said');
  place.replaceChildren(words);
  if (!back) return;
  const button = document.createElement('button');
  button.type = 'button';
  button.textContent = label;
  button.addEventListener('click', () => act(back));
  place.append(' ', button);
}

// one act at a time: the next waits for what the one before has made of the folder
let busy = Promise.resolve();

function act(doing) {
  busy = busy.then(async () => {
    document.documentElement.dataset.busy = '';
    try {
      await doing();
    } catch (error) {
      say(error.message[0].toUpperCase() + error.message.slice(1));
    }
    delete document.documentElement.dataset.busy;
  });
  return busy;
}

// ---- the cards

async function draw(focus = null) {
  const words = find('find')?.value ?? '', open = find('attic')?.open;
  find('cards').innerHTML = (await ask('/cards')).html;
  if (find('find')) find('find').value = words;
  if (find('attic') && open) find('attic').open = true;
  sift();
  const card = focus && document.querySelector(`[data-key="${focus}"] [data-act]:not(.board-picture)`);
  card?.focus();
  readAll();
}

function sift() {
  const field = find('find');
  if (!field) return;
  const wanted = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  const cards = [...document.querySelectorAll('.ticket')];
  for (const card of cards) card.hidden = !wanted.every((word) => card.dataset.words.includes(word));
  const seen = cards.filter((card) => !card.hidden).length;
  find('found').textContent = wanted.length ? `${seen} of ${cards.length} jobs` : `${cards.length} jobs`;
  find('none-found').hidden = seen > 0;
}

// a job that no check is known of may be one that cannot be read at all
let reading = 0;

async function readAll() {
  const mine = ++reading;
  for (const card of [...document.querySelectorAll('.ticket[data-unread]')].slice(0, MOST_READ)) {
    const told = await ask(`/slips/${card.dataset.key}`).catch(() => ({ slips: [] }));
    if (mine !== reading) return;
    card.removeAttribute('data-unread');
    if (!told.slips.length) continue;
    const state = card.querySelector('.state');
    state.className = 'state must-fix';
    state.firstElementChild.textContent = '\u25a0';
    const more = told.slips.length > 1 ? ` (and ${told.slips.length - 1} more)` : '';
    state.querySelector('.state-words').textContent = `Cannot be read: ${told.slips[0]}${more}`;
  }
  document.documentElement.dataset.read = '';
}

const title = (card) => card.querySelector('h2, b').textContent;

const acts = {
  async open(key, card) {
    say(`${title(card)} is put on its bench ...`);
    location.href = (await post('/open', { job: key })).address;
  },
  async close(key, card) {
    await post('/close', { job: key });
    await draw(key);
    say(`The bench of ${title(card)} is closed.`);
  },
  async copy(key, card) {
    const made = await post('/copy', { job: key });
    await draw(made.job);
    say(`${title(card)} is copied.`, async () => {
      await post('/attic', { job: made.job });
      await draw(key);
      say('The copy lies in the attic.');
    }, 'Put the copy in the attic');
  },
  async attic(key, card) {
    const put = await post('/attic', { job: key });
    await draw();
    find('anew').focus();
    say(`${title(card)} lies in the attic, with all that is ticked and built of it.`, async () => {
      const back = await post('/back', { job: put.job });
      await draw(back.job);
      say(`${title(card)} is back.`);
    }, 'Bring it back');
  },
  async back(key, card) {
    const back = await post('/back', { job: key });
    await draw(back.job);
    say(`${title(card)} is back.`);
  },
  async rename(key, card) {
    const was = title(card);
    const wanted = await asked('renaming', () => { find('title').value = was; find('title').select(); }, async () => {
      const now = find('title').value.trim();
      if (now !== was) await post('/rename', { job: key, title: now });
      return now;
    });
    if (wanted === null || wanted === was) return;
    await draw(key);
    say(`It is called ${wanted} now.`, async () => {
      await post('/rename', { job: key, title: was });
      await draw(key);
      say(`It is called ${was} again.`);
    });
  },
};

document.addEventListener('click', (event) => {
  const button = event.target.closest('[data-act]'), card = button?.closest('[data-key]');
  if (card) act(() => acts[button.dataset.act](card.dataset.key, card));
});
find('cards').addEventListener('input', (event) => { if (event.target.id === 'find') sift(); });

// ---- two small questions

// open a dialog; what ``take`` makes of it once it is answered, null where it is left
function asked(name, begin, take) {
  const box = find(name), said = find(`${name}-said`);
  said.textContent = '';
  box.showModal();
  begin();
  return new Promise((told) => {
    const done = (value) => { box.close(); told(value); };
    const go = async () => {
      try {
        done(await take());
      } catch (error) {
        said.textContent = error.message[0].toUpperCase() + error.message.slice(1);
      }
    };
    find(`${name}-go`).onclick = go;
    find(`${name}-leave`).onclick = () => done(null);
    box.oncancel = (event) => { event.preventDefault(); done(null); };
    box.onkeydown = (event) => {
      if (event.key === 'Enter' && event.target.tagName === 'INPUT') { event.preventDefault(); go(); }
    };
  });
}

async function start() {
  const first = await ask('/first-board');
  const made = await asked('start', () => {
    find('new-wood').replaceChildren(...first.woods.map((wood) => new Option(wood, wood, false, wood === first.wood)));
    for (const key of ['length', 'width', 'thickness']) find(`new-${key}`).value = first[key];
    find('new-title').focus();
  }, async () => {
    const sent = { pieces: Number(find('new-pieces').value) || 0 };
    for (const key of ['title', 'wood', 'length', 'width', 'thickness', 'trim']) sent[key] = find(`new-${key}`).value;
    if (!Number.isInteger(sent.pieces)) throw new Error('how many is a whole number.');
    return post('/start', sent);
  });
  if (made === null) return;
  say('It is put on its bench ...');
  location.href = (await post('/open', { job: made.job })).address;
}

find('anew').addEventListener('click', () => act(start));

// a page that is come back to tells how the jobs stand by now
window.addEventListener('pageshow', (event) => { if (event.persisted) act(() => draw()); });
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible' && !document.querySelector('dialog[open]')) act(() => draw(document.activeElement?.closest('[data-key]')?.dataset.key));
});
readAll();
if (location.hash === '#start') find('anew').click();
