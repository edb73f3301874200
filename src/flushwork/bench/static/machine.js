// @ts-check
// One step a screen beside the machine: ticks, notes and clocks that survive a reload.

import { weighAlong } from '/static/along.js';
import { ask } from '/static/asked.js';

const find = (name) => document.getElementById(name);
const screens = [...document.querySelectorAll('.screen')];
document.documentElement.dataset.shade = localStorage.getItem('shade') ?? '';

let log = { ticks: {}, notes: {}, timers: [] };
let here = 0;
let kept = 0;

// a note that could not be kept yet stays with the phone, and is sent again
const NOTES = `notes not kept yet, ${document.title}`;
let unsent = {};
try { unsent = JSON.parse(localStorage.getItem(NOTES)) ?? {}; } catch { /* nothing that can be read */ }

function remember(key, text) {
  if (text === null) delete unsent[key]; else unsent[key] = text;
  try {
    if (Object.keys(unsent).length) localStorage.setItem(NOTES, JSON.stringify(unsent)); else localStorage.removeItem(NOTES);
  } catch { /* no room: they stay on this screen */ }
}

async function keepNote(key) {
  const text = unsent[key];
  if (text !== undefined && await send('/log/note', { stage: key, text }) && unsent[key] === text) remember(key, null);
}

// one after the other: an answer that comes late would tell of the log before
/** @type {Promise<any>} */
let sending = Promise.resolve();
let waiting = 0;
function send(path, body) {
  waiting += 1;
  sending = sending.then(() => sent(path, body));
  return sending;
}

// what is ticked and still on its way stays ticked
function shown() {
  waiting -= 1;
  if (!waiting) fill();
}

async function sent(path, body) {
  try {
    const answer = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const now = await answer.json();
    if (!answer.ok) throw new Error(now.error);
    find('said').textContent = '';
    kept += 1;
    log = now;
    return true;
  } catch (error) {
    find('said').textContent = `Not kept: ${error instanceof TypeError ? 'the bench does not answer.' : error.message}`;
    return false;
  } finally { shown(); }
}

function show(number, focus = true) {
  here = Math.max(0, Math.min(screens.length - 1, number));
  screens.forEach((screen, index) => { screen.hidden = index !== here; });
  const screen = screens[here];
  if (!screen) return;
  history.replaceState(null, '', `#${screen.dataset.number}`);
  find('where').value = here;
  find('back').disabled = here === 0;
  find('on').disabled = here === screens.length - 1;
  window.scrollTo(0, 0);
  if (focus) screen.querySelector('h1').focus({ preventScroll: true });
}

function fill() {
  for (const screen of screens) {
    const { key } = screen.dataset, done = log.ticks[key] ?? [];
    const boxes = [...screen.querySelectorAll('[data-piece]')];
    for (const box of boxes) box.checked = done.includes(box.dataset.piece);
    screen.classList.toggle('done', boxes.length > 0 && boxes.every((box) => box.checked));
    const passed = log.no_returns?.[key] ?? [];
    for (const box of screen.querySelectorAll('[data-no-return]')) box.checked = passed.includes(box.dataset.noReturn);
    const note = screen.querySelector('textarea');
    if (document.activeElement !== note) note.value = unsent[key] ?? log.notes[key] ?? '';
    photos(screen, log.photos?.[key] ?? []);
  }
  // a phone's own list of choices shows no styles: what is done is told by a sign
  for (const choice of find('where')?.options ?? []) choice.text = `${screens[choice.index].classList.contains('done') ? '✓ ' : ''}${choice.dataset.words}`;
  tell();
}

function photos(screen, names) {
  const place = screen.querySelector('.shots');
  if (place.dataset.names === names.join('\n')) return;
  place.dataset.names = names.join('\n');
  const title = screen.querySelector('h1').textContent;
  place.replaceChildren(...names.map((name, index) => {
    const item = document.createElement('li'), link = document.createElement('a'), picture = document.createElement('img'), away = document.createElement('button');
    link.href = picture.src = `/log/photo/${encodeURIComponent(name)}`;
    picture.alt = `Photo ${index + 1} of: ${title}`;
    picture.loading = 'lazy';
    away.type = 'button';
    away.textContent = 'Take away';
    away.setAttribute('aria-label', `Take away photo ${index + 1} of: ${title}`);
    away.addEventListener('click', () => send('/log/photo/away', { stage: screen.dataset.key, name }));
    link.append(picture);
    item.append(link, away);
    return item;
  }));
}

// a photo goes as it is; the bench makes it small and leaves out what the camera wrote into it
async function snap(input) {
  const [file] = input.files, screen = input.closest('.screen'), label = input.parentElement.querySelector('span');
  if (!file) return;
  label.textContent = 'Being kept …';
  try {
    if (file.size > 16 * 1024 * 1024) throw new Error('that photo is too large; at most 16 MB are kept.');
    const answer = await fetch(`/log/photo?stage=${encodeURIComponent(screen.dataset.key)}`, { method: 'POST', headers: { 'Content-Type': file.type || 'image/jpeg' }, body: file });
    const now = answer.headers.get('content-type')?.includes('json') ? await answer.json() : { error: await answer.text() };
    if (!answer.ok) throw new Error(now.error);
    find('said').textContent = '';
    log = now;
    fill();
  } catch (error) {
    find('said').textContent = `Not kept: ${error instanceof TypeError ? 'the bench does not answer.' : error.message}`;
  } finally {
    label.textContent = 'Add a photo';
    input.value = '';
  }
}

function left(seconds) {
  const s = Math.abs(Math.round(seconds)), h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  if (h >= 48) return `${Math.floor(h / 24)} days ${h % 24} h`;
  return h ? `${h} h ${String(m).padStart(2, '0')} min` : `${m}:${String(s % 60).padStart(2, '0')}`;
}

function tell() {
  const place = find('timers'), names = log.timers.map((t) => t.name).join('\n');
  if (place.dataset.names !== names) {
    place.dataset.names = names;
    place.replaceChildren(...log.timers.map((timer) => {
      const row = document.createElement('p'), name = document.createElement('span'), time = document.createElement('b'), end = document.createElement('button');
      name.textContent = timer.name;
      time.setAttribute('aria-live', 'off');
      end.type = 'button';
      end.textContent = 'End';
      end.setAttribute('aria-label', `End the clock of ${timer.name}`);
      end.addEventListener('click', () => send('/log/timer', { name: timer.name, lasts_s: 0 }));
      row.append(name, time, end);
      return row;
    }));
  }
  [...place.children].forEach((row, index) => {
    const timer = log.timers[index], rest = timer.begun_s + timer.lasts_s - Date.now() / 1000;
    if (rest <= 0 && rest > -3 && !row.classList.contains('over')) navigator.vibrate?.([300, 120, 300]);
    row.classList.toggle('over', rest <= 0);
    row.querySelector('b').textContent = rest > 0 ? left(rest) : `over since ${left(rest)}`;
  });
}

document.addEventListener('change', (event) => {
  const screen = event.target.closest?.('.screen');
  if (!screen) return;
  if (event.target.type === 'file') snap(event.target);
  else if (event.target.dataset.piece) {
    const box = event.target, wanted = box.checked;
    send('/log/tick', { stage: screen.dataset.key, piece: box.dataset.piece, done: wanted })
      .then((kept) => { if (!kept) box.checked = !wanted; });
  } else if (event.target.dataset.noReturn) {
    const box = event.target, wanted = box.checked;
    send('/log/no-return', { stage: screen.dataset.key, line: box.dataset.noReturn, done: wanted })
      .then((kept) => { if (!kept) box.checked = !wanted; });
  } else if (event.target.tagName === 'TEXTAREA') {
    remember(screen.dataset.key, event.target.value);
    keepNote(screen.dataset.key);
  }
});
document.addEventListener('input', (event) => {
  const form = event.target.closest?.('form.along');
  if (form) {
    const pour = Number(form.closest('[data-pour]').dataset.pour), { mark } = document.documentElement.dataset;
    weighAlong(form, (body) => ask('/machine/weighed', {
      method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ...body, pour, mark }),
    }));
  }
  if (event.target.tagName === 'TEXTAREA') remember(event.target.closest('.screen').dataset.key, event.target.value);
});
document.addEventListener('submit', (event) => event.preventDefault());
document.addEventListener('click', (event) => {
  const button = event.target.closest?.('button.start');
  if (button) send('/log/timer', { name: button.dataset.timer, begun_s: Date.now() / 1000, lasts_s: Number(button.dataset.lasts) });
});
find('back')?.addEventListener('click', () => show(here - 1));
find('on')?.addEventListener('click', () => show(here + 1));
find('where')?.addEventListener('change', (event) => show(Number(event.target.value)));
document.addEventListener('keydown', (event) => {
  if (['TEXTAREA', 'INPUT', 'SELECT'].includes(event.target.tagName)) return;
  if (event.key === 'ArrowRight') show(here + 1);
  if (event.key === 'ArrowLeft') show(here - 1);
});

let stamp;
async function read() {
  try {
    const before = kept, answer = await fetch('/log'), told = await answer.json();
    // a tick made while the log was on its way is newer than the log
    if (answer.ok && kept === before) log = told; else if (!answer.ok) find('said').textContent = told.error;
  } catch { find('said').textContent = 'The bench does not answer.'; }
  if (!waiting) fill();
}

async function begin() {
  await read();
  const asked = screens.findIndex((screen) => `#${screen.dataset.number}` === location.hash);
  const next = screens.findIndex((screen) => !screen.classList.contains('done'));
  show(asked >= 0 ? asked : Math.max(0, next), false);
}

// the saved job may become another while this page is open: then its steps are those of before
async function standing() {
  const place = find('saved');
  try {
    const answer = await fetch('/machine/saved');
    if (!answer.ok) throw new TypeError('no answer');
    const now = await answer.json(), news = now.log !== stamp;
    stamp = now.log;
    // another phone, or the desk, has ticked or begun a clock
    if (news) await read();
    const other = now.mark !== document.documentElement.dataset.mark;
    // a page that came before the first build has nothing to lose
    if (other && !screens.length) { location.reload(); return; }
    place.firstElementChild.textContent = other ? 'The saved job is another, or checked further, since this page was drawn: cut nothing by it before you look again.' : now.words;
    find('look-again').hidden = !other;
    place.hidden = !other && !now.words;
    place.classList.toggle('grave', other || now.grave);
  } catch {
    place.firstElementChild.textContent = 'The bench does not answer: whether the job has changed since is not known.';
    place.hidden = false;
  }
}

begin();
setInterval(tell, 1000);
setInterval(standing, 4000);
find('look-again')?.addEventListener('click', (event) => { event.preventDefault(); location.reload(); });
setInterval(async () => {
  for (const key of Object.keys(unsent)) {
    const typing = document.activeElement?.tagName === 'TEXTAREA' && document.activeElement.closest('.screen').dataset.key === key;
    if (!typing) await keepNote(key);
  }
}, 3000);
