// @ts-check
import { answered, failed } from '/static/asked.js';

// so many still pictures are kept
const MOST_STILLS = 80;

// The same board as still pictures, where the machine has no WebGL2.
export class StillPainter {
  constructor(canvas) {
    this.canvas = canvas;
    this.pen = canvas.getContext('2d');
    this.stills = new Map();
    this.last = null;
    this.repaint = () => {};
    this.behind = null;
  }

  take(film) { this.film = film; }

  paint({ camera, face, stage }) {
    const { canvas, pen, film } = this;
    if (!film) return;
    this.behind = null;
    pen.clearRect(0, 0, canvas.width, canvas.height);
    const name = `${film.generation} ${stage} ${face}`;
    if (this.stills.size > MOST_STILLS) this.stills.clear();
    let picture = this.stills.get(name);
    if (!picture) {
      picture = new Image();
      picture.onload = () => { answered('still'); this.repaint(); };
      picture.onerror = () => failed('still', 'The picture of this stage did not come; what is shown is said above it.');
      picture.src = `/board/${film.generation}/still?stage=${stage}&face=${face}`;
      this.stills.set(name, picture);
    }
    if (!picture.complete || !picture.naturalWidth) {
      // the picture before stays until this one is there
      this.behind = this.last?.face === face ? { stage: this.last.stage } : {};
      if (this.last?.face !== face) return;
      picture = this.last.picture;
    } else this.last = { face, stage, picture };
    const k = canvas.width / camera.width;
    const [left, low] = camera.toScreen(0, 0), [right, high] = camera.toScreen(film.length_mm, film.width_mm);
    pen.drawImage(picture, left * k, high * k, (right - left) * k, (low - high) * k);
  }
}
