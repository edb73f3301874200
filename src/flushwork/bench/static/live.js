// @ts-check
// Who paints the board: WebGL2 where there is any, still pictures where there is none or where it gives way.

import { Painter } from '/static/painter.js';
import { StillPainter } from '/static/still.js';

const find = (name) => document.getElementById(name);
// a picture that is late is told after so long: most come sooner
const LATE_MS = 150;

export class Live {
  constructor(board) {
    this.board = board;
    this.missing = find('no-live').textContent;
    this.late = document.createElement('p');
    this.late.className = 'readout';
    this.late.id = 'late';
    this.late.setAttribute('role', 'status');
    this.late.style.top = '.7rem';
    this.late.style.bottom = 'auto';
    board.canvas.after(this.late);
    board.canvas.addEventListener('webglcontextlost', (event) => {
      // without this it would never come back
      event.preventDefault();
      this.stills('The board is shown as still pictures for now: what draws the live ones has stopped, and comes back by itself if this machine lets it. Stages, sections, measures and findings work as ever; the lamp and the tilt do not.');
    });
    board.canvas.addEventListener('webglcontextrestored', () => this.begin(false));
    this.begin(new URLSearchParams(location.search).has('still'));
  }

  begin(plain) {
    try {
      if (plain) throw new Error('stills were asked for');
      this.use(new Painter(this.board.canvas), false);
    } catch (error) {
      console.info(`The board is shown as still pictures: ${error.message}`);
      this.stills(this.missing);
    }
  }

  stills(words) {
    const { board } = this;
    this.still ??= new StillPainter(board.canvas);
    // a canvas that was ever given WebGL2 has no other way to draw
    if (!this.still.pen) this.still = new StillPainter(this.another());
    this.still.repaint = () => board.soon();
    find('no-live').textContent = words;
    this.use(this.still, true);
    board.lieFlat();
    if (board.mode === 'light') board.setMode('move');
  }

  another() {
    const canvas = document.createElement('canvas');
    canvas.className = 'over';
    canvas.setAttribute('aria-hidden', 'true');
    // a canvas that lost what drew it shows a sign of its own: out of sight, for it keeps pointer and keys
    canvas.style.background = 'var(--well)';
    this.board.canvas.after(canvas);
    return canvas;
  }

  use(painter, isStill) {
    const { board } = this;
    board.painter = painter;
    board.isStill = isStill;
    find('no-live').hidden = !isStill;
    find('tilt').disabled = document.querySelector('[data-mode="light"]').disabled = isStill;
    if (this.still) this.still.canvas.hidden = !isStill;
    if (!board.film) return;
    painter.take(board.film);
    board.soon();
  }

  // what is in sight, as a canvas
  get canvas() { return this.board.painter.canvas; }

  // say so where the picture of a stage is not here yet
  tell(stage) {
    const { behind } = this.board.painter;
    if (!behind) {
      clearTimeout(this.telling);
      this.telling = 0;
      if (this.late.textContent) this.late.textContent = '';
      return;
    }
    const on = `The picture ${stage ? `after stage ${stage}` : 'of the blank as sawn'} is on its way`;
    const still = behind.stage === undefined || behind.stage === stage ? '' : behind.stage ? `; this one is still that after stage ${behind.stage}` : '; this one is still the blank as sawn';
    this.words = `${on}${still}.`;
    if (this.late.textContent) this.late.textContent = this.words;
    else this.telling ||= setTimeout(() => { this.late.textContent = this.words; }, LATE_MS);
  }
}
