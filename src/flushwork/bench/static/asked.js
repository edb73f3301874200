// @ts-check
// What the page asked and was not told: said in one place, for as long as it is so.

const find = (name) => document.getElementById(name);
const failing = new Map();

function draw() {
  const place = find('unanswered'), words = [...failing.values()].join(' ');
  if (place.textContent !== words) place.textContent = words;
  place.hidden = !words;
}

// a question named ``name`` has failed; what the page showed of it is taken away by who asked
export function failed(name, words) { failing.set(name, words); draw(); }

export function answered(name) { if (failing.delete(name)) draw(); }

// why an answer is none, in the bench's own words
export async function why(answer) {
  if (!answer) return 'the bench does not answer.';
  const told = await answer.json().catch(() => null);
  const words = told?.error ?? `the bench answers ${answer.status}.`;
  return `${words[0].toLowerCase()}${words.slice(1)}`;
}

// an answer as data, or an error whose message says why there is none
export async function ask(path, options) {
  const answer = await fetch(path, options).catch(() => null);
  if (!answer?.ok) throw Object.assign(new Error(await why(answer)), { status: answer?.status ?? 0 });
  return answer.json();
}
