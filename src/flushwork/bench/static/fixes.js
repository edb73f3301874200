// A fix for a finding, looked for when asked: what is offered here has been through the whole check.

import { ask } from '/static/asked.js';
import { PAGE } from '/static/page.js';

const find = (name) => document.getElementById(name);
const AGAIN_MS = 300;
const LOOK = 'Look for a fix';

function made(tag, text, name) {
  const item = document.createElement(tag);
  if (text) item.textContent = text;
  if (name) item.className = name;
  return item;
}

// a finding is known by its heading
const about = (box) => box.parentElement.querySelector('h4')?.textContent;
const large = (words) => words[0].toUpperCase() + words.slice(1);

// what a change is in words: new against old
const change = ({ words, told, was }) => `${words} ${told ? `${told}${was ? ` instead of ${was}` : ', nothing before'}` : `taken out, ${was} before`}`;

export class Fixes {
  constructor(text) {
    this.text = text;
    this.key = '';
    find('check').addEventListener('click', (event) => {
      const button = event.target.closest?.('.look');
      if (button) this.pressed(button);
    });
    document.addEventListener('in-hand', (event) => this.held(event.detail));
  }

  // a finding in hand is looked for by itself, once for each text
  held(key) {
    this.key = key;
    const box = key.startsWith('finding/') && [...find('check').querySelectorAll('.finding')].find((each) => each.dataset.thing === key)?.querySelector('.fixes');
    if (!box || box.dataset.begun || this.box === box) return;
    this.leave();
    this.look(box, box.querySelector('.look'));
  }

  // the check is drawn again: what was looked for belongs to the text before, and goes on for the same text
  take(generation) {
    this.generation = generation;
    this.leave();
    const asked = this.asked;
    this.asked = undefined;
    if (asked?.text !== this.text.area.value) { this.held(this.key); return; }
    const boxes = [...find('check').querySelectorAll('.fixes')], box = boxes.find((each) => about(each) === asked.about);
    if (box) this.look(box, box.querySelector('.look')); else this.held(this.key);
  }

  pressed(button) {
    const box = button.closest('.fixes'), again = this.box === box;
    this.leave();
    this.asked = undefined;
    if (again) this.said(box, 'The search was left.'); else this.look(box, button);
  }

  async look(box, button) {
    this.box = box;
    box.dataset.begun = true;
    this.asked = { about: about(box), text: this.text.area.value };
    button.textContent = 'Stop looking';
    button.removeAttribute('aria-label');
    box.querySelector('.offers')?.remove();
    this.said(box, 'Looking …');
    const { text, generation } = this;
    try {
      let now = await ask(`/asking/${generation}/fix`, text.sent({ finding: Number(box.dataset.finding), page: PAGE }));
      while (this.box === box) {
        this.number = now.number;
        this.draw(box, now);
        if (!now.busy) break;
        await new Promise((done) => setTimeout(done, AGAIN_MS));
        if (this.box === box) now = await ask(`/asking/fix/${now.number}`);
      }
    } catch (error) {
      if (this.box === box) this.said(box, large(error.message));
    }
    if (this.box === box) this.over();
  }

  // nobody waits for it any more
  leave() {
    if (this.number !== undefined) this.text.post(`/asking/fix/${this.number}/stop`, {}).catch(() => {});
    this.over();
  }

  over() {
    const button = this.box?.querySelector('.look');
    if (button) {
      button.textContent = LOOK;
      button.setAttribute('aria-label', `${LOOK}: ${about(this.box)}`);
      this.box.querySelector('.count').textContent = '';
    }
    this.box = this.number = undefined;
  }

  said(box, words) {
    const place = box.querySelector('.said');
    if (place.textContent !== words) place.textContent = words;
  }

  draw(box, now) {
    box.querySelector('.count').textContent = now.busy && now.whole ? `${now.tried} of ${now.whole} changes tried` : '';
    this.said(box, now.words);
    if (!now.fixes.length) return;
    let offers = box.querySelector('.offers');
    if (!offers) { offers = made('div', '', 'offers'); box.append(offers); }
    for (const edits of now.fixes.slice(offers.childElementCount)) offers.append(this.offer(edits));
  }

  // what it changes, new against old, is the button that takes it; another number may be put in its place first
  offer(edits) {
    const form = made('form', '', 'try'), take = made('button', '', 'take main'), [single] = edits;
    const name = () => { take.textContent = `Take it: ${edits.map(change).join('; ')}`; };
    form.autocomplete = 'off';
    form.dataset.edits = JSON.stringify(edits);
    take.type = 'button';
    const first = made('button', 'Try it first');
    first.type = 'submit';
    first.setAttribute('aria-label', `Try it first: ${edits.map((each) => each.words).join('; ')}`);
    form.append(take);
    if (single.number) {
      const label = made('label', 'or '), input = made('input');
      Object.assign(input, { type: 'text', name: 'value', value: single.value, size: 9 });
      input.setAttribute('aria-label', `${single.words}, now ${single.was || 'not given'}`);
      input.addEventListener('input', () => { single.told = input.value.trim() || '…'; name(); });
      label.append(input, ' ', made('span', single.was ? `now ${single.was}` : 'nothing of it in the file yet', 'small'));
      form.append(label);
    }
    form.append(first);
    name();
    return form;
  }
}
