// @ts-check
// What was done and not yet saved, step by step, in one row with what was saved and with the days.

const MOST = 200;
// what is typed without a longer rest is one step
const REST_MS = 1000;

/**
 * One step: a text changed, other days wished, or a text that was saved (the bench keeps that one).
 * @typedef {{ what: 'text' | 'days', before: any, after: any } | { what: 'saved' }} Step
 */

export class Steps {
  constructor() {
    /** @type {Step[]} */
    this.past = [];
    /** @type {Step[]} */
    this.next = [];
    this.typed_ms = -Infinity;
  }

  /**
   * Something was done: what had been undone before is given up.
   * @param {Step} step
   * @param {number} [typed_ms] when it was typed; none where it was done in one go
   */
  did(step, typed_ms) {
    const last = this.past.at(-1), rest_ms = (typed_ms ?? Infinity) - this.typed_ms;
    this.next = [];
    this.typed_ms = typed_ms ?? -Infinity;
    if (step.what === 'text' && last?.what === 'text' && rest_ms < REST_MS && last.after === step.before) {
      last.after = step.after;
      return;
    }
    this.past.push(step);
    if (this.past.length > MOST) this.past.shift();
  }

  // a saved text is one step of the bench, whatever it took to type it; the days keep their place
  saved() {
    const at = this.past.findLastIndex((step) => step.what === 'saved') + 1;
    const days = this.past.slice(at).filter((step) => step.what === 'days');
    this.past.splice(at, this.past.length, ...days, { what: 'saved' });
    this.next = [];
    this.typed_ms = -Infinity;
  }

  // the text has become another without anything done here: its steps lead nowhere
  forget() {
    this.past = [];
    this.next = [];
    this.typed_ms = -Infinity;
  }

  // what Undo would take back; nothing where only the bench knows
  get last() { return this.past.at(-1); }

  // what Redo would do again
  get first() { return this.next.at(-1); }

  // the last step was taken back, or one that the bench alone knows
  back() {
    this.next.push(this.past.pop() ?? { what: 'saved' });
    this.typed_ms = -Infinity;
  }

  // and done again
  on() {
    this.past.push(this.next.pop() ?? { what: 'saved' });
    this.typed_ms = -Infinity;
  }
}

/**
 * The least change from one text to another: from where to where, and what goes there.
 * @param {string} before
 * @param {string} after
 */
export function changeOf(before, after) {
  const most = Math.min(before.length, after.length);
  let from = 0, end = 0;
  while (from < most && before[from] === after[from]) from++;
  while (end < most - from && before[before.length - 1 - end] === after[after.length - 1 - end]) end++;
  return { from, to: before.length - end, insert: after.slice(from, after.length - end) };
}
