// @ts-check
// How long pictures take on this machine, and how many pixels of it one in motion may have.

const SLOW_MS = 40;
const LEAST = 0.3;

export class Pace {
  // a picture begins: for how long the one before kept the page
  begin() {
    const { took } = this, begun = performance.now();
    this.took = 0;
    requestAnimationFrame(() => { this.took = performance.now() - begun; });
    return took ?? 0;
  }

  // pixels of the picture for one of the page: of a board that is itself moved, fewer where it goes slowly
  pixels(moving, took) {
    const full = Math.min(2, window.devicePixelRatio || 1);
    if (!moving) { this.moved = false; return full; }
    this.ratio = Math.min(full, this.ratio ?? full);
    // a picture that follows one in motion tells how fast this machine is, however slow
    if (this.moved && took && took < 3000) {
      if (took > SLOW_MS) this.ratio = Math.max(LEAST, this.ratio * (took > 4 * SLOW_MS ? 0.55 : 0.8));
      else if (took < SLOW_MS / 2) this.ratio = Math.min(full, this.ratio * 1.08);
    }
    this.moved = true;
    return this.ratio;
  }
}
