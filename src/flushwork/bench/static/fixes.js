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

export class Fixes {
  constructor(text) {
    this.text = text;
    find('check').addEventListener('click', (event) => {
      const button = event.target.closest?.('.look');
      if (button) this.pressed(button);
    });
  }

  // the check is drawn again: what was looked for belongs to the text before, and goes on for the same text
  take(generation) {
    this.generation = generation;
    this.leave();
    const asked = this.asked;
    this.asked = undefined;
    if (asked?.text !== this.text.area.value) return;
    const boxes = [...find('check').querySelectorAll('.fixes')], box = boxes.find((each) => about(each) === asked.about);
    if (box) this.look(box, box.querySelector('.look'));
  }

  pressed(button) {
    const box = button.closest('.fixes'), again = this.box === box;
    this.leave();
    this.asked = undefined;
    if (again) this.said(box, 'The search was left.'); else this.look(box, button);
  }

  async look(box, button) {
    this.box = box;
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

  // what it changes, old against new; another number may be put in the place of a single one
  offer(edits) {
    const form = made('form', '', 'try'), list = made('ul'), words = edits.map((each) => each.words).join('; ');
    form.autocomplete = 'off';
    form.dataset.edits = JSON.stringify(edits);
    for (const edit of edits) {
      const item = made('li');
      if (edit.number) {
        const label = made('label', `${large(edit.words)} `), input = made('input');
        Object.assign(input, { type: 'text', name: 'value', value: edit.value, size: 9 });
        label.append(input);
        item.append(label);
      } else item.append(made('span', `${large(edit.words)}: `), made('b', edit.told ?? 'taken out'));
      item.append(' ', made('span', edit.was ? `now ${edit.was}` : 'nothing of it in the file yet', 'small'));
      list.append(item);
    }
    const button = made('button', 'Try it');
    button.type = 'submit';
    button.setAttribute('aria-label', `Try it: ${words}`);
    form.append(list, button);
    return form;
  }
}
