// @ts-check
// Close up: tiles down to the cell of the replay for what is in sight, and the outlines it was cut
// along.  Both are asked for only where and when somebody looks so closely, and at rest.

import { BARE, KEPT_LOOK, PIECE, post } from '/static/film.js';
import { texture } from '/static/face.js';
import { Program } from '/static/program.js';
import { EDGE_FRAGMENT, EDGE_VERTEX, MARGIN } from '/static/shaders.js';

/** @typedef {import('/static/film.js').Film} Film */
/** @typedef {import('/static/film.js').Look} Look */
/** @typedef {{ c0: number, c1: number, r0: number, r1: number }} Tiles columns and rows of tiles, both ends included */
/** @typedef {{ textures: Record<string, WebGLTexture>, from: [number, number], span: [number, number], px: number, id: number }} Seen
 * what is painted from: its textures, where they begin and how far they go in mm, a texel in mm */

// a texel no broader than so many pixels of the screen shows no edge as stairs
const SHARP_PX = 2;
// so many texels from an edge there is nothing of what lies beyond it
const CLEAR_TEXELS = 1.5;
// tiles close up that are kept in the page; the browser keeps more, by their hash
const MOST_HELD = 24e6;
const NEVER = -1;

/** @type {Map<string, Uint8Array>} tiles by their name and the cells to a pixel, the longest unused first */
const held = new Map();
let heldBytes = 0;

const nameOf = (name, factor) => `${name}/${factor}`;

function keep(name, data) {
  if (held.has(name)) return;
  held.set(name, data);
  heldBytes += data.length;
  for (const [old, { length }] of held) {
    if (heldBytes <= MOST_HELD || old === name) break;
    held.delete(old);
    heldBytes -= length;
  }
}

function recall(name) {
  const found = held.get(name);
  if (found) { held.delete(name); held.set(name, found); }
  return found;
}

// what the tiles are called, and then those that are not here: what has a name by its hash never changes
async function ask(film, numbers, factor) {
  const answer = await post(`/board/${film.generation}/close`, { want: numbers, factor });
  if (!answer.ok) throw Object.assign(new Error('those tiles are not to be had'), { status: answer.status });
  const { names } = await answer.json();
  await Promise.all(names.map(async (name, at) => {
    const sent = await fetch(`/board/close/${name}`);
    if (!sent.ok) throw Object.assign(new Error('that tile is forgotten'), { status: sent.status });
    keep(nameOf(film.tiles[numbers[at]], factor), new Uint8Array(await sent.arrayBuffer()));
  }));
  film.come();
}

export class CloseUp {
  /** @param {WebGL2RenderingContext} gl */
  constructor(gl) {
    this.gl = gl;
    // where none can be painted into, edges are as sharp as the texels are
    this.able = Boolean(gl.getExtension('EXT_color_buffer_float') ?? gl.getExtension('EXT_color_buffer_half_float'));
    /** @type {Seen | null} */
    this.seen = null;
    /** @type {Look | null} the look of a face that is laid */
    this.look = null;
    /** @type {Tiles & { factor: number, across: number, side: number }} */
    this.laid = { c0: 0, c1: NEVER, r0: 0, r1: NEVER, factor: 0, across: 0, side: 0 };
    /** @type {(string | null)[]} */
    this.names = [];
    this.id = 0;
    /** @type {{ frame: WebGLFramebuffer, ink: WebGLTexture, depth: WebGLRenderbuffer, width: number, height: number } | null} */
    this.field = null;
    /** @type {{ lines: object, array: WebGLVertexArrayObject, buffer: WebGLBuffer, count: number } | null} */
    this.lines = null;
    /** @type {Program | undefined} */
    this.program = undefined;
    // whether something that would be painted from is not here yet
    this.waiting = false;
  }

  // how many cells make a pixel where so many pixels of the screen show a mm; 0 where the film's own are fine enough
  factorFor(film, scale) {
    const own = Math.round(film.px_mm / film.cell_mm);
    if (film.px_mm * scale < SHARP_PX || own < 2 || film.generation === KEPT_LOOK) return 0;
    let factor = 1;
    while (factor * 2 < own && factor * 2 * film.cell_mm * scale < SHARP_PX) factor *= 2;
    return factor;
  }

  /** What to paint the tiles in sight from: null where the whole face is what there is, or is fine enough.
   * @param {Film} film
   * @param {Look} look
   * @param {Tiles} tiles
   * @param {number} scale
   * @param {boolean} rest
   * @returns {Seen | null} */
  bring(film, look, tiles, scale, rest) {
    const factor = this.factorFor(film, scale), { laid } = this;
    this.waiting = false;
    if (!factor) return null;
    const covers = laid.factor === factor && laid.across === film.across && laid.side === film.side
      && laid.c0 <= tiles.c0 && laid.c1 >= tiles.c1 && laid.r0 <= tiles.r0 && laid.r1 >= tiles.r1;
    if (covers && this.look === look) return this.seen;
    if (!rest) return null;
    // one more on every side: a shadow falls from there
    const wide = { c0: Math.max(0, tiles.c0 - 1), c1: Math.min(film.across - 1, tiles.c1 + 1), r0: Math.max(0, tiles.r0 - 1), r1: Math.min(film.up - 1, tiles.r1 + 1) };
    const missing = new Set();
    for (let row = wide.r0; row <= wide.r1; row++) {
      for (let column = wide.c0; column <= wide.c1; column++) {
        const number = look.grid[row * film.across + column];
        if (number !== BARE && !held.has(nameOf(film.tiles[number], factor))) missing.add(number);
      }
    }
    if (missing.size) {
      this.waiting = true;
      film.once('close', () => ask(film, [...missing], factor));
      return null;
    }
    this.lay(film, look, wide, factor);
    return this.seen;
  }

  /** @param {Film} film
   * @param {Look} look
   * @param {Tiles} wide
   * @param {number} factor */
  lay(film, look, wide, factor) {
    const { gl, laid } = this, side = Math.round(film.side * film.px_mm / film.cell_mm / factor), px = film.cell_mm * factor;
    const columns = wide.c1 - wide.c0 + 1, rows = wide.r1 - wide.r0 + 1, width = columns * side, height = rows * side;
    const same = this.seen && laid.factor === factor && laid.side === film.side && laid.c1 - laid.c0 + 1 === columns && laid.r1 - laid.r0 + 1 === rows;
    if (!same) {
      this.drop();
      this.seen = {
        textures: {
          heights: texture(gl, gl.R16F, width, height, gl.RED, gl.HALF_FLOAT, null),
          colour: texture(gl, gl.RGBA8, width, height, gl.RGBA, gl.UNSIGNED_BYTE, null),
          shine: texture(gl, gl.RGBA8, width, height, gl.RGBA, gl.UNSIGNED_BYTE, null),
        },
        from: [0, 0], span: [width * px, height * px], px, id: 0,
      };
      this.names = new Array(columns * rows).fill(null);
    }
    if (laid.c0 !== wide.c0 || laid.r0 !== wide.r0) this.names.fill(null);
    Object.assign(laid, wide, { factor, across: film.across, side: film.side });
    for (let at = 0; at < this.names.length; at++) {
      const column = at % columns, row = Math.floor(at / columns), number = look.grid[(wide.r0 + row) * film.across + wide.c0 + column];
      const name = film.name(number, look.plane_mm);
      if (this.names[at] === name) continue;
      this.names[at] = name;
      const data = number === BARE ? null : recall(nameOf(film.tiles[number], factor));
      const tile = film.parts(data ?? null, side, look.plane_mm);
      for (const [part, format, type] of /** @type {const} */ ([['heights', gl.RED, gl.HALF_FLOAT], ['colour', gl.RGBA, gl.UNSIGNED_BYTE], ['shine', gl.RGBA, gl.UNSIGNED_BYTE]])) {
        gl.bindTexture(gl.TEXTURE_2D, this.seen.textures[part]);
        gl.texSubImage2D(gl.TEXTURE_2D, 0, column * side, row * side, side, side, format, type, tile[part]);
      }
    }
    this.look = look;
    this.seen.from = [wide.c0 * side * px, wide.r0 * side * px];
    this.seen.id = ++this.id;
  }

  drop() {
    for (const old of Object.values(this.seen?.textures ?? {})) this.gl.deleteTexture(old);
    this.seen = null;
    this.look = null;
  }

  /** Whether edges can be drawn from the outlines of a face, where a texel is so many mm; asks for them.
   * @param {Film} film
   * @param {'front' | 'back'} face
   * @param {number} texel
   * @param {number} scale */
  edged(film, face, texel, scale) {
    if (!this.able || texel * scale < 1 || film.px_mm * scale < SHARP_PX || film.generation === KEPT_LOOK) return false;
    if (!film.lines[face]) {
      this.waiting = true;
      film.once(`lines ${face}`, () => film.outlined(face));
      return false;
    }
    return film.lines[face].count > 0;
  }

  /** Paint for every pixel of the screen the way to the nearest outline, as far as its texels hold
   * something of what lies beyond it.
   * @param {Film} film
   * @param {'front' | 'back'} face
   * @param {number} stage
   * @param {Float32Array} view
   * @param {number} texel
   * @param {HTMLCanvasElement} canvas */
  outline(film, face, stage, view, texel, canvas) {
    const { gl } = this, lines = film.lines[face];
    if (this.lines?.lines !== lines) {
      if (this.lines) { gl.deleteBuffer(this.lines.buffer); gl.deleteVertexArray(this.lines.array); }
      const array = gl.createVertexArray(), buffer = gl.createBuffer();
      gl.bindVertexArray(array);
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, lines.segments, gl.STATIC_DRAW);
      for (const [place, size, offset] of [[0, 4, 0], [1, 3, 16]]) {
        gl.enableVertexAttribArray(place);
        gl.vertexAttribPointer(place, size, gl.FLOAT, false, 4 * PIECE, offset);
        gl.vertexAttribDivisor(place, 1);
      }
      this.lines = { lines, array, buffer, count: lines.count };
    }
    const width = canvas.width + 2 * MARGIN, height = canvas.height + 2 * MARGIN;
    this.framed(width, height);
    const { made, places } = this.program ??= new Program(gl, EDGE_VERTEX, EDGE_FRAGMENT);
    gl.viewport(0, 0, width, height);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LESS);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.useProgram(made);
    gl.bindVertexArray(this.lines.array);
    gl.uniformMatrix4fv(places.view, false, view);
    gl.uniform1f(places.stage, stage);
    gl.uniform2f(places.fit, canvas.width / width, canvas.height / height);
    // the trim line is told by the film's own pixels
    gl.uniform2f(places.clear, CLEAR_TEXELS * texel, CLEAR_TEXELS * film.px_mm);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, this.lines.count);
    gl.bindVertexArray(null);
    gl.disable(gl.DEPTH_TEST);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, canvas.width, canvas.height);
  }

  framed(width, height) {
    const { gl } = this;
    if (this.field?.width !== width || this.field.height !== height) {
      const old = this.field;
      if (old) { gl.deleteTexture(old.ink); gl.deleteRenderbuffer(old.depth); }
      this.field = { frame: old?.frame ?? gl.createFramebuffer(), ink: gl.createTexture(), depth: gl.createRenderbuffer(), width, height };
      gl.bindTexture(gl.TEXTURE_2D, this.field.ink);
      gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA16F, width, height);
      for (const which of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, which, gl.NEAREST);
      gl.bindRenderbuffer(gl.RENDERBUFFER, this.field.depth);
      gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, width, height);
      gl.bindFramebuffer(gl.FRAMEBUFFER, this.field.frame);
      gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, this.field.ink, 0);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, this.field.depth);
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.field.frame);
  }
}
