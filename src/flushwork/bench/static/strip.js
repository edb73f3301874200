// @ts-check
// The strip of stages on top: scrubbed like a film by pointer or keys.

const find = (name) => document.getElementById(name);

export class Strip {
  constructor(show) {
    this.show = show;
    this.stage = 0;
    this.shots = [];
    /** @type {Told} */
    this.taken = () => {};
    this.near = () => {};
    const strip = find('strip');
    strip.addEventListener('pointerdown', (event) => {
      const at = this.under(event);
      if (at === null || event.button) return;
      this.dragging = event.pointerType !== 'touch';
      this.go(at);
      this.taken(at, false);
      this.reel.focus({ preventScroll: true });
      event.preventDefault();
    });
    // who comes near is about to go through the stages
    for (const kind of ['pointerenter', 'focusin', 'touchstart']) strip.addEventListener(kind, () => this.near(), { passive: true });
    window.addEventListener('pointermove', (event) => {
      if (!this.dragging) return;
      const at = this.under(event);
      if (at !== null && at !== this.stage) { this.go(at); this.taken(at, true); }
    });
    window.addEventListener('pointerup', () => { this.dragging = false; });
    strip.addEventListener('keydown', (event) => {
      const by = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: 1, ArrowUp: -1, '.': 1, ',': -1 }[event.key];
      if (by) this.step(by);
      else if (event.key === 'Home') { this.go(0); this.taken(0, true); }
      else if (event.key === 'End') { this.go(this.last); this.taken(this.last, true); }
      else return;
      event.preventDefault();
    });
  }

  get reel() { return find('reel'); }

  get last() { return this.shots.length ? Number(this.shots[this.shots.length - 1].dataset.stage) : 0; }

  take() { this.shots = [...document.querySelectorAll('#reel .shot')]; }

  under(event) {
    /** @type {any} */
    const shot = document.elementFromPoint(event.clientX, event.clientY)?.closest?.('.shot');
    if (shot) return Number(shot.dataset.stage);
    if (!this.dragging || !this.shots.length) return null;
    for (const each of this.shots) {
      const box = each.getBoundingClientRect();
      if (event.clientX >= box.left && event.clientX < box.right) return Number(each.dataset.stage);
    }
    return null;
  }

  // who steps on by keys has the next stage in hand
  step(by) {
    const stage = Math.max(0, Math.min(this.last, this.stage + by));
    this.go(stage);
    this.taken(stage, true);
  }

  go(stage, { quiet = false } = {}) {
    this.stage = stage;
    for (const shot of this.shots) {
      const number = Number(shot.dataset.stage), here = number === stage;
      // what stays as it is, is not touched: every touch is laid out and painted anew
      if ((shot.getAttribute('aria-selected') === 'true') !== here) shot.setAttribute('aria-selected', String(here));
      if (shot.classList.contains('done') !== number < stage) shot.classList.toggle('done', number < stage);
      if (here && this.told !== shot) this.tell(stage, shot);
    }
    this.show(stage, quiet);
  }

  tell(stage, shot) {
    this.told = shot;
    this.reel.setAttribute('aria-activedescendant', shot.id);
    find('stage-title').textContent = stage ? `${stage}. ${shot.title}` : shot.title;
    const more = shot.dataset.more ? ` ${shot.dataset.more[0].toUpperCase()}${shot.dataset.more.slice(1)}.` : '';
    find('stage-because').textContent = `${shot.dataset.because}${more}`;
    const reel = this.reel, box = shot.getBoundingClientRect(), frame = reel.getBoundingClientRect();
    if (box.left < frame.left + 8 || box.right > frame.right - 8) {
      reel.scrollLeft += box.left - frame.left - frame.width / 2 + box.width / 2;
    }
  }
}
