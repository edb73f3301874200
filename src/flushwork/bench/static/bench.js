// The page of one job: it follows what the desk builds and wires its parts together.

import { answered, ask, failed } from '/static/asked.js';
import { Board } from '/static/board.js';
import { keptOf, putBack } from '/static/carry.js';
import { Compare } from '/static/compare.js';
import { Cuts } from '/static/cuts.js';
import { Days } from '/static/days.js';
import { loadFilm, toldOf } from '/static/film.js';
import { Fixes } from '/static/fixes.js';
import { Hand } from '/static/hand.js';
import { Making } from '/static/making.js';
import { Network } from '/static/network.js';
import { Odds } from '/static/odds.js';
import { PAGE } from '/static/page.js';
import { Pours } from '/static/pours.js';
import { Check } from '/static/check.js';
import { Section } from '/static/section.js';
import { Stakes } from '/static/stakes.js';
import { Strip } from '/static/strip.js';
import { Sweep } from '/static/sweep.js';
import { JobText } from '/static/text.js';
import { Trial } from '/static/trial.js';

const find = (name) => document.getElementById(name);
const SLOW_MS = 6000;
const units = document.documentElement.dataset.units;
const SEEN_MS = 300;
// so long a picture stands before the page asks for what nobody waits for: who goes on changing comes first
const LATER_MS = 350;

// what the page was made with: its pixels are on their way while everything else is set up
const given = JSON.parse(find('given').dataset.given);
if (given.generation) {
  given.film = loadFilm(given.generation, undefined, 'front', given.kept);
  given.film.catch(() => {});
}

// once what was drawn is on the screen; a page that is not in sight draws nothing
function seen() {
  const next = () => new Promise((done) => requestAnimationFrame(done));
  return Promise.race([next().then(next), new Promise((done) => setTimeout(done, SEEN_MS))]);
}

class Bench {
  constructor() {
    this.generation = 0;
    this.board = new Board();
    this.section = new Section(this.board);
    this.strip = new Strip((stage) => this.show(stage));
    this.check = new Check(this.board, () => this.strip.go(this.strip.last));
    this.cuts = new Cuts(this.board, this.strip);
    this.pours = new Pours(this.board, this.strip);
    this.days = new Days();
    this.network = new Network();
    this.odds = new Odds(this.board, this.strip);
    this.stakes = new Stakes(this.strip);
    this.text = new JobText(() => this.sight(), (picture) => this.drawn(picture), () => { this.busy = true; this.follow(); });
    this.hand = new Hand(this.board, this.strip, this.text);
    if (this.hand.look.face === 'back') this.board.faceUp('back');
    this.board.middles = () => this.hand.middles();
    this.strip.near = () => { if (this.board.film && this.all !== this.board.film) { this.all = this.board.film; this.all.all(this.strip.stage); } };
    this.days.onHold = (key) => this.hand.hold(key);
    this.making = new Making(this.board, this.hand, this.text);
    this.days.onDone = (before, after) => { this.text.steps.did({ what: 'days', before, after }); this.text.buttons(this.text.undoes); };
    this.text.days = (wishes) => this.days.send(wishes, undefined, true);
    this.sweep = new Sweep(this.text);
    this.trial = new Trial(this.text);
    this.fixes = new Fixes(this.text);
    this.compare = new Compare(this.board, this.strip, this.text);
    this.hand.ticked = () => this.days.ticked();
    this.hand.arranged = () => this.compare.look();
    this.check.toLine = (line) => this.text.goTo(line);
    this.board.onStage = (by) => this.strip.step(by);
    this.board.onFace = () => this.section.turned(this.strip.stage);
    this.board.onLine = (line) => this.section.along(line, this.strip.stage);
    window.addEventListener('unhandledrejection', (event) => {
      // whatever part of the page asked: a bench that does not answer is told in one place
      if (!(event.reason instanceof TypeError && /fetch|NetworkError|Load failed/.test(event.reason.message))) return;
      event.preventDefault();
      this.gone();
    });
    this.settings();
    this.begin();
  }

  // what the page was made with is taken at once; all other questions wait for its picture
  async begin() {
    if (given.generation) {
      this.busy = true;
      await this.take(given.generation, given).catch(() => {});
    }
    this.follow();
  }

  settings() {
    const inch = find('inch'), shade = find('shade');
    inch.addEventListener('change', () => {
      location.search = inch.checked ? '?units=inch' : '?units=metric';
    });
    shade.value = localStorage.getItem('shade') ?? '';
    const apply = () => {
      document.documentElement.dataset.shade = shade.value;
      localStorage.setItem('shade', shade.value);
    };
    shade.addEventListener('change', apply);
    // a printer gets no live picture: the board as it stands on the screen goes in its place
    window.addEventListener('beforeprint', () => {
      // paper cannot be unfolded, and waits for no picture
      this.unfolded = [...document.querySelectorAll('#check details, #stakes details, .no-return-at details, .held-how')].filter((each) => !each.open);
      for (const each of this.unfolded) each.open = true;
      for (const each of document.images) each.loading = 'eager';
      if (!this.board.film) return;
      // paper is light
      document.documentElement.dataset.shade = 'light';
      this.section.draw();
      this.board.draw();
      find('printed').src = this.board.live.canvas.toDataURL();
    });
    window.addEventListener('afterprint', () => {
      for (const each of this.unfolded ?? []) each.open = false;
      apply();
      this.section.draw();
    });
    apply();
  }

  // one round at a time: two would load the same picture twice
  async follow() {
    clearTimeout(this.again);
    if (this.following) { this.once_more = true; return; }
    this.following = true;
    let wait = 1500;
    const slow = setTimeout(() => this.say('The bench has not answered for a while: this machine may be busy. The picture stays, and what you type is kept.'), SLOW_MS);
    try {
      const now = await ask(`/standing?page=${PAGE}${this.busy ? `&newer=${this.generation}` : ''}`);
      answered('standing');
      this.away = false;
      this.anew(now);
      this.tell(now);
      this.text.standing(now);
      this.hand.logged(now.log);
      if (now.generation && now.generation !== this.generation && !this.text.trying) await this.take(now.generation);
      this.cuts.standing({ ...now, trying: now.trying || this.text.dirty });
      this.trial.standing(now);
      this.busy = Boolean(now.busy);
      if (!this.busy && !this.text.trying && this.board.film) {
        // nothing came of what was typed: the picture in sight is still the one to go on with
        if (this.board.film.stopped) this.atRest(LATER_MS);
        this.board.film.stopped = false;
      }
      if (now.busy) wait = this.text.trying ? 60 : 5;
    } catch (error) {
      if (error.status === 0) this.gone();
      else failed('standing', `The page is not as the bench has it: ${error.message} What is in sight is that of before.`);
      wait = 1000;
      this.busy = false;
    } finally {
      clearTimeout(slow);
    }
    this.following = false;
    if (this.once_more) [this.once_more, this.busy, wait] = [false, !this.away, 0];
    this.again = setTimeout(() => this.follow(), wait);
  }

  // where the page looks and what it has, for the first picture of a changed depth; all that nobody waits for gives way
  sight() {
    clearTimeout(this.later);
    if (this.board.film) this.board.film.stopped = true;
    return { base: this.whole_film?.generation ?? 0, stage: this.strip.stage, face: this.board.face, units };
  }

  async drawn(picture) {
    const [told, ...pixels] = toldOf(picture);
    if (told.base !== this.whole_film?.generation || told.generation <= this.generation) return;
    await this.take(told.generation, { ...told, film: this.whole_film.changed(told, ...pixels) });
  }

  say(words) {
    find('work').hidden = !words;
    if (find('work').textContent !== words) find('work').textContent = words;
  }

  gone() {
    this.away = true;
    this.say('The bench has been closed. What you typed stays here; start it again and this page goes on.');
  }

  // a bench started again has built nothing yet, and knows nothing of what was typed and not saved
  anew(now) {
    if (this.desk && now.desk !== this.desk) {
      this.generation = -1;
      this.text.again();
    }
    this.desk = now.desk;
  }

  tell(now) {
    const trouble = find('trouble'), ms = performance.now();
    if (now.busy !== this.room) { this.room = now.busy; this.since = ms; }
    const s = Math.floor((ms - this.since) / 5000) * 5;
    const waits = s * 1000 < SLOW_MS - 1000 ? '' : `, for ${s} seconds now. ${this.generation ? 'The picture in sight is the one before; ' : ''}what you type is kept.`;
    const line = now.slips.length && this.generation > 0 ? `The text cannot be read as it is (line ${now.slips[0].line}): the picture in sight is that of before.` : '';
    const share = now.share === null ? '' : ` about ${Math.round(now.share * 100)} % of the first build done`;
    this.say(now.busy ? `${now.busy[0].toUpperCase()}${now.busy.slice(1)} …${share}${waits}` : line);
    this.doubt(now.failed || (now.slips.length && this.generation > 0) ? 'The text as it is could not be checked: what is shown below belongs to the text before it.' : '');
    // while the text is read anew, its slips are those of the text before
    const refused = now.slips.length && !now.busy && !now.generation && !this.making.blank;
    trouble.hidden = !now.failed && !refused;
    if (now.failed) trouble.textContent = `This text could not be built: ${now.failed}. The last good picture stays in sight.`;
    else if (refused) trouble.textContent = 'The job cannot be read yet; its slips are marked beside the text below.';
  }

  async take(generation, known) {
    const [film, parts] = await Promise.all([
      known?.film ?? loadFilm(generation, this.generation && this.strip.stage !== this.strip.last ? this.strip.stage : undefined, this.board.face),
      known ?? ask(`/parts?units=${units}&page=${PAGE}`),
    ]);
    if (parts.generation !== generation) return;
    const first = !this.generation;
    this.generation = generation;
    document.title = `${parts.title} on the bench`;
    this.text.banner();
    this.cuts.away();
    this.board.extra = null;
    const { look } = this.hand, stage = first ? look.stage ?? film.last : Math.min(this.strip.stage, film.last);
    const following = first ? look.stage === undefined : this.strip.stage === this.strip.last;
    clearTimeout(this.later);
    if (parts.sketch) this.sketched(film);
    else this.whole(film, parts);
    this.trial.take(parts);
    if (parts.coarse) this.ask(generation, parts);
    this.strip.go(following ? film.last : Math.min(stage, film.last), { quiet: true });
    if (!parts.sketch) this.hand.take(generation, parts);
    if (!parts.kept && !parts.sketch) this.opened();
    await seen();
    if (this.generation !== generation) return;
    // a sketch is there to be looked at: what of it is not in sight is asked for when it is
    this.unasked = parts.sketch ? null : () => { if (!parts.coarse) this.ask(generation, parts); film.rest(); };
    this.atRest(parts.coarse ? 50 : LATER_MS);
    document.documentElement.dataset.generation = generation;
    document.documentElement.dataset.picture = parts.kept ? 'kept' : parts.coarse ? 'first' : 'checked';
    performance.measure?.(`picture ${document.documentElement.dataset.picture}`, { start: 0 });
    this.times = { ...this.times, [parts.coarse ? 'first_ms' : 'checked_ms']: performance.now() - (this.text.begun ?? 0) };
    document.dispatchEvent(new CustomEvent('taken', { detail: parts }));
  }

  // a page just opened looks at where the work is, if it is under way
  async opened() {
    if (this.at) return;
    this.at = true;
    const stage = this.strip.stage, key = this.hand.key;
    if (this.hand.look.stage !== undefined || key !== 'today') return;
    const told = await this.hand.today().catch(() => null);
    if (told?.begun && told.stage && this.strip.stage === stage && this.hand.key === key) this.strip.go(told.stage);
  }

  atRest(ms) {
    clearTimeout(this.later);
    const { unasked } = this;
    if (!unasked) return;
    this.later = setTimeout(() => { this.unasked = null; unasked(); }, ms);
  }

  // what no picture waits for
  ask(generation, parts) {
    this.odds.take(generation, parts.coarse);
    this.stakes.take(generation, parts);
    this.days.take(generation, parts.coarse);
    if (!parts.kept) this.hand.learn(generation);
    if (!parts.coarse) this.check.pictures(() => generation === this.generation && !this.board.film.stopped && !this.away);
  }

  // a changed depth at once: the picture is new, the words are still to come
  sketched(film) {
    this.board.take(film, []);
    this.doubted = null;
    this.verdict('Being checked', 'This is the first picture of what you changed; figures and findings below are still those of before.');
  }

  // a verdict of the text before is none of this one
  doubt(words) {
    const verdict = document.querySelector('#head .verdict');
    if (!verdict || words === (this.doubted?.words ?? '')) return;
    if (this.doubted && this.doubted.verdict === verdict) [verdict.className, verdict.innerHTML] = this.doubted.before;
    this.doubted = words ? { words, verdict, before: [verdict.className, verdict.innerHTML] } : null;
    if (words) this.verdict('Not checked', words);
  }

  verdict(heading, words) {
    const verdict = document.querySelector('#head .verdict');
    if (!verdict) return;
    verdict.className = 'verdict note';
    verdict.querySelector('b').textContent = heading;
    verdict.lastChild.textContent = ` ${words}`;
  }

  whole(film, parts) {
    this.whole_film = film;
    this.doubted = null;
    const drawn = [];
    for (const [name, html] of Object.entries(parts.parts ?? {})) {
      const part = document.querySelector(`[data-part="${name}"]`);
      if (!part) continue;
      drawn.push([part, keptOf(part)]);
      part.innerHTML = html;
    }
    find('board').hidden = find('section').hidden = false;
    this.board.take(film, parts.pins);
    this.strip.take();
    this.fixes.take(film.generation ?? parts.generation);
    // what is put back asks again, of the film just taken
    for (const [part, kept] of drawn) putBack(part, kept);
  }

  show(stage) {
    this.board.show(stage);
    this.section.show(stage);
    this.stakes.show(stage);
    this.compare?.moved();
  }
}

window.bench = new Bench();
