// @ts-check
// Where a bit goes, drawn over the board and played in time; download states.

import { answered, ask, failed } from '/static/asked.js';
import { said } from '/static/board.js';

const find = (name) => document.getElementById(name);
const LASTS_S = 24;
// deeper is darker and broader: pale amber to a deep brown
const DEPTHS = ['#fff1cf', '#ffcf7d', '#f08f3c', '#b4511f', '#5a1d10'];
// each bit has its own colour, and each next one a broader line
const BITS = ['#fff1cf', '#6fd3e8', '#ff9d3c', '#3d62d8', '#e05a8a', '#9be37a'];

function clock(seconds) {
  const s = Math.max(0, Math.round(seconds)), m = Math.floor(s / 60);
  return m >= 60 ? `${Math.floor(m / 60)} h ${String(m % 60).padStart(2, '0')} min` : `${m} min ${String(s % 60).padStart(2, '0')} s`;
}

export class Cuts {
  constructor(board, strip) {
    this.board = board;
    this.strip = strip;
    this.canvas = find('way');
    this.share = 1;
    board.after = () => this.draw();
    find('sheets').addEventListener('click', (event) => {
      const button = event.target.closest?.('button.path');
      if (button) this.show(button);
    });
    find('moment').addEventListener('input', (event) => {
      this.stop();
      this.share = Number(event.target.value) / 1000;
      this.changed();
    });
    find('play').addEventListener('click', () => (this.playing ? this.stop() : this.start()));
    find('away').addEventListener('click', () => this.away());
    find('way-by').addEventListener('change', () => { if (this.path) { this.key(); this.draw(); } });
  }

  async show(button) {
    const pressed = button.getAttribute('aria-pressed') === 'true';
    this.away();
    if (pressed) return;
    const files = button.dataset.file.split(' ');
    try {
      this.path = joined(await Promise.all(files.map((file) => ask(`/doing/${this.board.film.generation}/path/${file}`))));
      answered('path');
    } catch (error) {
      failed('path', `Where the bit goes is not shown: ${error.message}`);
      return;
    }
    find('way-by').value = files.length > 1 ? 'bit' : 'depth';
    this.rapid = new Set(this.path.rapid);
    button.setAttribute('aria-pressed', 'true');
    button.textContent = 'Hide where it goes';
    const depths = this.path.points.filter((_, i) => i % 3 === 2);
    this.deepest = Math.min(-0.01, ...chunkMin(depths));
    this.key();
    // the board as it lies when this file starts
    this.strip.go(Math.max(0, this.path.stage - 1));
    if (this.board.face !== this.path.face) this.board.turnOver(this.path.face);
    find('player').hidden = false;
    find('play').focus({ preventScroll: true });
    this.share = 1;
    this.changed();
  }

  away() {
    this.stop();
    this.path = null;
    for (const each of document.querySelectorAll('button.path')) {
      each.setAttribute('aria-pressed', 'false');
      each.textContent = each.dataset.words ?? 'Show where it goes';
    }
    find('player').hidden = true;
    this.board.soon();
  }

  start() {
    if (!this.path) return;
    if (this.share >= 1) this.share = 0;
    this.playing = true;
    find('play').textContent = 'Pause';
    let last = performance.now();
    const step = (now) => {
      if (!this.playing) return;
      this.share = Math.min(1, this.share + (now - last) / 1000 / LASTS_S);
      last = now;
      this.changed();
      if (this.share < 1) requestAnimationFrame(step); else this.stop();
    };
    requestAnimationFrame(step);
  }

  stop() {
    this.playing = false;
    find('play').textContent = 'Play';
  }

  changed() {
    const gone = this.path.runs_s * this.share;
    find('moment').value = String(Math.round(this.share * 1000));
    const after = this.path.setup_left_s > 0.5 ? `; then ${clock(this.path.setup_left_s)} more in this setup` : '';
    find('remains').textContent = `${clock(gone)} run, ${clock(this.path.runs_s - gone)} left${after}`;
    this.draw();
  }

  // what the colours mean: depths from pale to dark, or one colour and breadth for each bit
  key() {
    const by = find('way-by').value, { bits } = this.path;
    const told = by === 'bit' ? bits.map((name, at) => [BITS[at % BITS.length], name])
      : [[DEPTHS[0], 'just in the wood'], [DEPTHS[4], `${said(Math.abs(this.deepest))} deep`]];
    find('way-key').replaceChildren(...told.map(([ink, words], at) => {
      const item = document.createElement('span'), line = document.createElementNS('http://www.w3.org/2000/svg', 'svg'), stroke = document.createElementNS('http://www.w3.org/2000/svg', 'path');
      line.setAttribute('viewBox', '0 0 26 14');
      stroke.setAttribute('d', 'M2 7H24');
      stroke.setAttribute('stroke', ink);
      stroke.setAttribute('stroke-width', by === 'bit' ? 2 + 1.5 * at : 3 + at);
      line.append(stroke);
      line.setAttribute('aria-hidden', 'true');
      item.className = 'legend-item';
      item.append(line, words);
      return item;
    }));
  }

  draw() {
    const { canvas, board, path } = this, { camera } = board;
    const ratio = Math.min(2, window.devicePixelRatio || 1);
    const [width, height] = [Math.round(camera.width * ratio), Math.round(camera.height * ratio)];
    if (canvas.width !== width || canvas.height !== height) { canvas.width = width; canvas.height = height; }
    const pen = canvas.getContext('2d');
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, camera.width, camera.height);
    if (!path || path.face !== board.face) return;
    const m = camera.matrix(1000);
    const sx = (x, y) => (m[0] * x + m[4] * y + m[12] + 1) / 2 * camera.width;
    const sy = (x, y) => (1 - (m[1] * x + m[5] * y + m[13])) / 2 * camera.height;
    const { points, at_s: at } = path, until = path.runs_s * this.share;
    const byBit = find('way-by').value === 'bit', inks = byBit ? path.bits.map((_, at) => BITS[at % BITS.length]) : DEPTHS;
    const bands = inks.map(() => []), rapids = [];
    let tip = 0;
    for (let i = 1; i < at.length; i++) {
      if (at[i] > until + 1e-6) break;
      tip = i;
      if (this.rapid.has(i - 1)) rapids.push(i);
      else if (byBit) bands[path.owner[i]].push(i);
      else {
        const z = Math.max(points[i * 3 + 2], points[i * 3 - 1]);
        bands[Math.max(0, Math.min(4, Math.floor(z / this.deepest * 4.999)))].push(i);
      }
    }
    const trace = (list) => {
      pen.beginPath();
      let last = -1;
      for (const i of list) {
        const [a, b] = [(i - 1) * 3, i * 3];
        if (i - 1 !== last) pen.moveTo(sx(points[a], points[a + 1]), sy(points[a], points[a + 1]));
        pen.lineTo(sx(points[b], points[b + 1]), sy(points[b], points[b + 1]));
        last = i;
      }
      pen.stroke();
    };
    pen.lineCap = pen.lineJoin = 'round';
    pen.strokeStyle = 'rgba(255, 255, 255, 0.75)';
    pen.lineWidth = 1;
    pen.setLineDash([2, 4]);
    trace(rapids);
    pen.setLineDash([]);
    inks.forEach((ink, band) => {
      const more = byBit ? 0.6 : 0.25;
      pen.lineWidth = 2.4 + band * more;
      pen.strokeStyle = 'rgba(25, 12, 5, 0.35)';
      trace(bands[band]);
      pen.lineWidth = 1 + band * more;
      pen.strokeStyle = ink;
      trace(bands[band]);
    });
    const [x, y] = [sx(points[tip * 3], points[tip * 3 + 1]), sy(points[tip * 3], points[tip * 3 + 1])];
    pen.strokeStyle = '#fff';
    pen.lineWidth = 2.5;
    pen.beginPath(); pen.arc(x, y, Math.max(4, path.widths[path.owner[tip]] / 2 * camera.scale), 0, 7); pen.stroke();
    pen.strokeStyle = '#1c120a';
    pen.lineWidth = 1;
    pen.stroke();
  }

  // whether the G-code files on the page are those of the saved job
  standing(now) {
    const stale = now.trying || now.outside;
    for (const link of document.querySelectorAll('a.file')) {
      link.classList.toggle('stale', stale);
      if (stale) link.setAttribute('aria-disabled', 'true'); else link.removeAttribute('aria-disabled');
      const state = link.nextElementSibling, words = stale ? '⚠ stale: not from the saved job' : '✓ in step with the saved job';
      if (state.textContent !== words) state.textContent = words;
      link.onclick = stale ? (event) => event.preventDefault() : null;
    }
  }
}

// the ways of several files one after the other, as one; who owns which point
function joined(paths) {
  const bits = [...new Set(paths.map((path) => path.bit))];
  const whole = { ...paths[0], points: [], at_s: [], rapid: [], owner: [], bits, widths: [], runs_s: 0, setup_left_s: paths[paths.length - 1].setup_left_s };
  for (const path of paths) {
    const base = whole.at_s.length, which = bits.indexOf(path.bit);
    whole.widths[which] = path.bit_mm;
    // from the end of one file to the beginning of the next nothing is cut
    if (base) whole.rapid.push(base - 1);
    for (const each of path.points) whole.points.push(each);
    for (const each of path.at_s) { whole.at_s.push(each + whole.runs_s); whole.owner.push(which); }
    for (const each of path.rapid) whole.rapid.push(each + base);
    whole.runs_s += path.runs_s;
  }
  return whole;
}

// spreading a long list into Math.min would overflow the stack
function chunkMin(list) {
  const least = [];
  for (let i = 0; i < list.length; i += 10000) least.push(Math.min(...list.slice(i, i + 10000)));
  return least;
}
