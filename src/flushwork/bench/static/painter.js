// @ts-check
// Paints the board with WebGL2: textures follow the stage tile by tile, and only what changed is painted again.

import { CloseUp } from '/static/close.js';
import { BARE, COARSE, FINE, FLAKES, FaceTextures, LEVEL, NOT, QUICK, RELIEF } from '/static/face.js';
import { Program } from '/static/program.js';
import { BOARD_VERTEX, LAY_FRAGMENT, SIDE_FRAGMENT, SIDE_VERTEX, TILE_VERTEX, boardFragment } from '/static/shaders.js';

/** @typedef {import('/static/film.js').Film} Film */
/** @typedef {import('/static/film.js').FaceName} FaceName */
/** @typedef {import('/static/film.js').Shot} Shot */
/** @typedef {import('/static/camera.js').Camera} Camera */
/** @typedef {import('/static/close.js').Seen} Seen */
/** @typedef {import('/static/close.js').Tiles} Tiles */
/** @typedef {{ camera: Camera, face: FaceName, stage: number, fine: boolean, wholly: boolean, took: number, tone: number[], times: number, lamp: number[] }} Scene
 * what is to be seen: `fine` at rest, `wholly` where the board itself moves, `took` the picture before, in ms */
/** @typedef {[Scene, FaceTextures, Shot, Float32Array, (Seen | null)]} Asked a scene, its face, its shot, the view, what is seen close up */
/** @typedef {Map<number, number[]>} Runs tiles to be painted, by what they show and how */
/** @typedef {{ tiles: Runs, more: boolean, coarse: number | false }} Painting */

const UNITS = ['heights', 'colour', 'shine', 'wood', 'inside'];
// the texture after those: the way from each pixel to the nearest outline
const NEAREST = UNITS.length;
const FIRST_REACH = 150_000, LEAST_REACH = 40_000;
const SLOW_MS = 40;
// a picture in motion is to take so long, of which so much goes by whatever is painted
const MOTION_MS = 30, EVEN_MS = 17;
// what a pixel costs in motion, by what its tile shows, compared with a relief
const COSTS = new Map([[BARE, 0.17], [LEVEL, 0.5], [RELIEF, 1]]), FLAKES_COST = 0.5, FINISH_COST = 0.3;
const FIRST_RATE = 1e-4, MOST_RATE = 5e-4, LEAST_COST = 30_000;
// pixels of the screen to one of a coarser picture, along and across
const COARSER = [2, 3];
// a program is made in so long, and none while the board was painted so lately
const MADE_MS = 120, CALM_MS = 400;

export class Painter {
  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    // what was painted stays, so that the next picture need not be painted whole
    const gl = canvas.getContext('webgl2', { antialias: false, alpha: true, premultipliedAlpha: true, preserveDrawingBuffer: true });
    if (!gl) throw new Error('no WebGL2');
    this.gl = gl;
    this.canvas = canvas;
    /** @type {Map<string, Program>} */
    this.programs = new Map();
    /** @type {Map<FaceName, FaceTextures>} */
    this.faces = new Map();
    this.empty = gl.createVertexArray();
    this.squares = gl.createVertexArray();
    this.listed = gl.createBuffer();
    gl.bindVertexArray(this.squares);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.listed);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 1, gl.FLOAT, false, 0, 0);
    gl.vertexAttribDivisor(0, 1);
    gl.bindVertexArray(null);
    /** @type {Film | null} */
    this.film = null;
    this.close = new CloseUp(gl);
    /** @type {{ frame: WebGLFramebuffer, ink: WebGLRenderbuffer, depth: WebGLRenderbuffer, width?: number, height?: number } | undefined} */
    this.soft = undefined;
    /** @type {{ frame: WebGLFramebuffer, ink: WebGLTexture, width: number, height: number } | undefined} where a coarser picture is painted */
    this.less = undefined;
    /** @type {Asked | null} */
    this.asked = null;
    /** @type {{ stage?: number } | null} what is shown instead of what is not here yet */
    this.behind = null;
    // what the picture on the screen is one of, and that the outlines were looked for in
    this.pose = '';
    this.outlined = '';
    // what this picture costs, and whether it still gets better
    this.cost = 0;
    this.refining = false;
    this.leant = NOT;
    this.reach = FIRST_REACH;
    this.rate = FIRST_RATE;
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    this.busy_at = performance.now();
    // both are needed for the first picture: compiled while its pixels are on their way
    this.flat(BARE, QUICK, true);
    this.flat(LEVEL, QUICK, true);
    this.warm();
  }

  /** @param {string} name
   * @param {string} vertex
   * @param {() => string} fragment */
  program(name, vertex, fragment) {
    if (!this.programs.has(name)) this.programs.set(name, new Program(this.gl, vertex, fragment()));
    return this.programs.get(name);
  }

  /** @param {number} kind
   * @param {number} how
   * @param {boolean} finished */
  flat(kind, how, finished, edged = false) {
    const asked = ['LYING'];
    if (kind !== BARE) asked.push('INK');
    if (kind & FLAKES) asked.push('FLAKES');
    if (kind & RELIEF) asked.push('RELIEF');
    if (kind & RELIEF && how === FINE) asked.push('FINE');
    if (finished) asked.push('FINISHED');
    if (edged && how === FINE) asked.push('EDGED');
    return this.program(asked.join(), TILE_VERTEX, () => boardFragment(...asked));
  }

  /** @param {boolean} fine
   * @param {boolean} finished */
  leaning(fine, finished) {
    const asked = ['INK', 'FLAKES', 'RELIEF', ...(fine ? ['FINE'] : []), ...(finished ? ['FINISHED'] : [])];
    return this.program(asked.join(), BOARD_VERTEX, () => boardFragment(...asked));
  }

  /** @param {Film} film */
  take(film) {
    const before = this.film;
    this.film = film;
    /** @param {Film | null} each */
    const like = (each) => each && JSON.stringify([each.columns, each.rows, each.side, each.wood, each.inside_names, each.outline]);
    // the same board with other tiles on it: what lies there already need not be laid again
    const same = like(before) === like(film);
    for (const [name, face] of this.faces) {
      if (same) { face.take(film); continue; }
      face.drop();
      this.asked = null;
      this.faces.delete(name);
      this.pose = '';
    }
  }

  // made when it is first looked at
  /** @param {FaceName} name */
  held(name) {
    if (!this.faces.has(name)) this.faces.set(name, new FaceTextures(this.gl, this.film, name));
    return this.faces.get(name);
  }

  // paint what differs from what is painted; say whether there is more to do for a picture at rest
  /** @param {Scene} scene */
  paint(scene) {
    const { gl, film } = this;
    if (!film || gl.isContextLost()) return false;
    try {
      return this.painted(scene);
    } catch (error) {
      // lost on the way: what was asked of it is no answer
      if (!gl.isContextLost()) throw error;
      return false;
    }
  }

  /** @param {Scene} scene */
  painted(scene) {
    const { gl, film, canvas } = this, { camera, face, stage, lamp, times } = scene;
    this.behind = null;
    if (!scene.fine) this.busy_at = performance.now();
    if (!film.woods[face]) { film.wantFace(face); return this.nothing(); }
    const held = this.held(face);
    if (!held.bring(stage)) {
      if (!held.shot) return this.nothing();
      this.behind = { stage: held.shot.stage };
    }
    const tilted = camera.lean !== 0 || camera.flip < 1;
    const { shot } = held, view = camera.matrix(film.length_mm + film.width_mm + film.thickness_mm * times * 4);
    // close up: from which texels, and whether edges follow the outlines
    const tiles = this.tilesIn(camera), across = camera.scale * canvas.width / camera.width;
    const seen = tilted ? null : this.close.bring(film, shot[face], tiles, across, scene.fine);
    if (tilted) this.close.waiting = false;
    const edged = !tilted && this.close.edged(film, face, seen?.px ?? film.px_mm, across);
    const pose = [face, canvas.width, canvas.height, ...view, ...lamp, shot.trimmed, shot[face].finished, tilted && [shot.stage, times], seen?.id, edged].join();
    const fresh = this.pose !== pose;
    this.pose = pose;
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    if (tilted) return this.paintLeaning(scene, held, shot, view, fresh);
    gl.disable(gl.DEPTH_TEST);
    if (fresh) {
      gl.clear(gl.COLOR_BUFFER_BIT);
      held.done.fill(NOT);
    }
    const { finished } = shot[face], runs = this.runs(scene, held, finished, tiles, edged);
    /** @type {Asked} */
    const asked = this.asked = [scene, held, shot, view, seen];
    const drawn = `${pose} ${shot.stage}`;
    if (edged && scene.fine && this.outlined !== drawn) {
      this.close.outline(film, face, shot.stage, view, seen?.px ?? film.px_mm, canvas);
      this.outlined = drawn;
    }
    if (runs.coarse) this.coarsely(runs.coarse, runs.tiles, asked, finished);
    else for (const [name, tiles] of runs.tiles) this.tiled(this.flat(name & 7, name >> 3, finished, edged), tiles, asked);
    gl.bindVertexArray(null);
    return runs.more;
  }

  // make what later pictures ask for while nothing else goes on, one program at a time, and draw nothing
  // with each: the first use of one takes far longer than any other
  warm() {
    const { gl } = this;
    /** @type {[number, number, boolean][]} */
    const left = [];
    for (const finished of [false, true]) {
      for (const kind of [LEVEL, RELIEF, RELIEF | FLAKES, LEVEL | FLAKES, BARE]) left.push([kind, QUICK, finished]);
      for (const kind of [RELIEF, RELIEF | FLAKES]) left.push([kind, FINE, finished]);
    }
    const make = () => {
      if (!left.length || gl.isContextLost()) return;
      const calm = this.asked && performance.now() - this.busy_at > CALM_MS;
      if (calm) this.flat(...left[0]);
      setTimeout(calm ? draw : make, calm ? MADE_MS : CALM_MS);
    };
    const draw = () => {
      if (gl.isContextLost()) return;
      if (!this.asked) { make(); return; }
      const [kind, how, finished] = left.shift(), { across, up } = this.film, nowhere = [across * up], [scene, held, shot, view] = this.asked;
      /** @type {Asked} what was seen close up may be gone by now */
      const asked = [scene, held, shot, view, null];
      gl.disable(gl.DEPTH_TEST);
      this.tiled(this.flat(kind, how, finished), nowhere, asked);
      if (how === QUICK) this.coarsely(COARSER[0], new Map([[kind | how << 3, nowhere]]), asked, finished);
      gl.bindVertexArray(null);
      make();
    };
    make();
  }

  // of a face that was never here nothing is painted until it is
  nothing() {
    const { gl } = this;
    this.pose = '';
    this.behind = {};
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT);
    return false;
  }

  /** @param {Program} program
   * @param {number[]} tiles
   * @param {Asked} asked */
  tiled({ made, places }, tiles, [scene, held, shot, view, seen], coarser = 1) {
    const { gl, film } = this;
    gl.useProgram(made);
    this.light(places, scene, held, shot, view, coarser, seen);
    gl.uniform2f(places.texels, film.columns, film.rows);
    gl.uniform2i(places.tiles, film.across, film.side);
    this.squared(tiles);
  }

  /** @param {number[]} tiles */
  squared(tiles) {
    const { gl } = this;
    gl.bindVertexArray(this.squares);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.listed);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(tiles), gl.STREAM_DRAW);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, tiles.length);
  }

  // paint tiles into a picture of fewer pixels, and lay them from there into the one on the screen
  /** @param {number} coarser
   * @param {Runs} runs
   * @param {Asked} asked
   * @param {boolean} finished */
  coarsely(coarser, runs, asked, finished) {
    const { gl, film, canvas } = this, view = asked[3];
    const width = Math.ceil(canvas.width / coarser), height = Math.ceil(canvas.height / coarser);
    this.small(width, height);
    gl.viewport(0, 0, width, height);
    gl.clear(gl.COLOR_BUFFER_BIT);
    for (const [name, tiles] of runs) this.tiled(this.flat(name & 7, name >> 3, finished), tiles, asked, coarser);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, canvas.width, canvas.height);
    const { made, places } = this.program('lay', TILE_VERTEX, () => LAY_FRAGMENT);
    gl.useProgram(made);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, this.less.ink);
    gl.uniform1i(places.coarse, 0);
    gl.uniform2f(places.screen, canvas.width, canvas.height);
    gl.uniform2f(places.size, film.columns * film.px_mm, film.rows * film.px_mm);
    gl.uniform2f(places.texels, film.columns, film.rows);
    gl.uniform2i(places.tiles, film.across, film.side);
    gl.uniform1f(places.grow, 0);
    gl.uniformMatrix4fv(places.view, false, view);
    this.squared([...runs.values()].flat());
  }

  // where the coarser picture is painted
  /** @param {number} width
   * @param {number} height */
  small(width, height) {
    const { gl } = this;
    if (this.less?.width !== width || this.less.height !== height) {
      if (this.less) gl.deleteTexture(this.less.ink);
      this.less = { frame: this.less?.frame ?? gl.createFramebuffer(), ink: gl.createTexture(), width, height };
      gl.bindTexture(gl.TEXTURE_2D, this.less.ink);
      gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA8, width, height);
      for (const what of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, what, gl.LINEAR);
      for (const what of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, what, gl.CLAMP_TO_EDGE);
      gl.bindFramebuffer(gl.FRAMEBUFFER, this.less.frame);
      gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, this.less.ink, 0);
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.less.frame);
  }

  // what may be painted anew in a picture in motion, learnt from how long the one before took
  /** @param {number} took */
  allowed(took) {
    const { cost } = this;
    this.cost = 0;
    if (cost > LEAST_COST && took < 3000) {
      const told = Math.max(0, took - EVEN_MS) / cost;
      // one picture that was held up by something else tells little
      this.rate = told > this.rate ? Math.min(MOST_RATE, told, this.rate * 1.5) : 0.3 * told + 0.7 * this.rate;
    }
    return (MOTION_MS - EVEN_MS) / this.rate;
  }

  // the columns and rows of tiles in sight
  /** @param {Camera} camera
   * @returns {Tiles} */
  tilesIn(camera) {
    const { across, up, side, px_mm } = this.film, mm = side * px_mm;
    const [x0, y0] = camera.toBoard(0, camera.height), [x1, y1] = camera.toBoard(camera.width, 0);
    return {
      c0: Math.max(0, Math.floor(Math.min(x0, x1) / mm)), c1: Math.min(across - 1, Math.floor(Math.max(x0, x1) / mm)),
      r0: Math.max(0, Math.floor(Math.min(y0, y1) / mm)), r1: Math.min(up - 1, Math.floor(Math.max(y0, y1) / mm)),
    };
  }

  // which tiles to paint now, and how: all that show something else at once, finely as many as the reach allows
  /** @param {Scene} scene
   * @param {FaceTextures} held
   * @param {boolean} finished
   * @param {Tiles} within
   * @param {boolean} edged
   * @returns {Painting} */
  runs({ camera, fine, took, wholly }, held, finished, { c0, c1, r0, r1 }, edged) {
    const { film, canvas } = this, { across, side, px_mm } = film;
    /** @type {Runs} */
    const tiles = new Map();
    /** @param {number} i
     * @param {number} kind
     * @param {number} how */
    const paint = (i, kind, how) => {
      const name = kind | how << 3;
      if (tiles.has(name)) tiles.get(name).push(i); else tiles.set(name, [i]);
    };
    if (fine && held.blunt) held.blur(false);
    const mm = side * px_mm, area = Math.min(canvas.width * canvas.height, (mm * camera.scale * canvas.width / camera.width) ** 2);
    // a reach too long for this machine grows shorter, and the other way round
    if (fine && this.refining) {
      if (took > SLOW_MS) this.reach = Math.max(LEAST_REACH, this.reach * 0.6);
      else this.reach *= 2;
    }
    let left = fine ? this.reach : 0, more = false;
    const seen = [];
    for (let row = r0; row <= r1; row++) {
      for (let column = c0; column <= c1; column++) if (held.done[row * across + column] !== FINE) seen.push(row * across + column);
    }
    // a picture in motion that would take too long is painted of fewer pixels; where there is time left,
    // what is coarse becomes sharp on the way
    const cost = (i) => area * (COSTS.get(held.kind[i] & 3) + (held.kind[i] & FLAKES ? FLAKES_COST : 0) + (finished ? FINISH_COST : 0));
    const allowed = this.allowed(took), fresh = seen.filter((i) => held.done[i] === NOT);
    const whole = fresh.reduce((sum, i) => sum + cost(i), 0), coarse = !fine && !wholly && whole > allowed && (COARSER.find((each) => whole / each ** 2 < allowed) ?? COARSER.at(-1));
    let spare = allowed - whole;
    if (!fine) this.cost = coarse ? whole / coarse ** 2 : whole;
    for (const i of seen) {
      const done = held.done[i], kind = held.kind[i];
      if (coarse) {
        if (done === NOT) paint(i, kind, held.done[i] = COARSE);
        more = true;
        continue;
      }
      if (done === COARSE && !fine) {
        if (wholly || spare < cost(i)) { more = true; continue; }
        spare -= cost(i);
        this.cost += cost(i);
      }
      // edges are drawn from the outlines once all is at rest, whatever the tile shows
      if (kind & RELIEF || edged) {
        if (left > 0) {
          paint(i, kind, held.done[i] = FINE);
          left -= area;
          continue;
        }
        if (done < QUICK) paint(i, kind, QUICK);
        held.done[i] = QUICK;
        more = true;
        continue;
      }
      if (done < QUICK || fine) paint(i, kind, QUICK);
      held.done[i] = held.blunt && kind !== BARE ? QUICK : FINE;
      more ||= held.done[i] === QUICK;
    }
    this.refining = fine && more;
    return { tiles, more, coarse };
  }

  /** @param {Record<string, WebGLUniformLocation>} at
   * @param {Scene} scene
   * @param {FaceTextures} held
   * @param {Shot} shot
   * @param {Float32Array} view
   * @param {number} coarser
   * @param {Seen | null} seen */
  light(at, { camera, lamp }, held, shot, view, coarser = 1, seen = null) {
    const { gl, film, canvas } = this;
    UNITS.forEach((name, unit) => {
      gl.activeTexture(gl.TEXTURE0 + unit);
      gl.bindTexture(gl.TEXTURE_2D, seen?.textures[name] ?? held.textures[name]);
      gl.uniform1i(at[name], unit);
    });
    if (at.nearest) {
      gl.activeTexture(gl.TEXTURE0 + NEAREST);
      gl.bindTexture(gl.TEXTURE_2D, this.close.field.ink);
      gl.uniform1i(at.nearest, NEAREST);
    }
    gl.activeTexture(gl.TEXTURE0);
    const size = [film.columns * film.px_mm, film.rows * film.px_mm];
    gl.uniform2fv(at.size, size);
    gl.uniform2fv(at.from, seen?.from ?? [0, 0]);
    gl.uniform2fv(at.span, seen?.span ?? size);
    gl.uniform1f(at.px, seen?.px ?? film.px_mm);
    const pixel = coarser / camera.scale * (camera.width / canvas.width);
    gl.uniform1f(at.screen, pixel);
    // of a coarser picture the pixels around a tile are looked at as well
    if (at.grow) gl.uniform1f(at.grow, coarser > 1 ? pixel : 0);
    gl.uniform3f(at.lamp, lamp[0], lamp[1], lamp[2]);
    gl.uniform1f(at.trimmed, shot.trimmed ? 1 : 0);
    gl.uniformMatrix4fv(at.view, false, view);
  }

  /** @param {Scene} scene
   * @param {FaceTextures} held
   * @param {Shot} shot
   * @param {Float32Array} view
   * @param {boolean} fresh */
  paintLeaning(scene, held, shot, view, fresh) {
    const { gl, film, canvas } = this, { face, fine, times, tone } = scene;
    const want = fine ? FINE : QUICK;
    if (!fresh && this.leant >= want && !held.done.includes(NOT)) return !fine;
    if (fine && held.blunt) held.blur(false);
    held.done.fill(QUICK);
    this.leant = want;
    // smooth edges where there is time for them
    if (fine) this.smoothly();
    gl.enable(gl.DEPTH_TEST);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    this.paintSide(shot, face, view, times, tone, held);
    const program = this.leaning(fine, shot[face].finished), at = program.places;
    gl.useProgram(program.made);
    gl.bindVertexArray(this.empty);
    this.light(at, scene, held, shot, view);
    const most = Math.round(520 * Math.min(1, canvas.width / scene.camera.width));
    const mesh = [Math.min(most, film.columns), Math.min(most, film.rows)];
    gl.uniform2i(at.mesh, mesh[0], mesh[1]);
    gl.uniform1f(at.plane, shot[face].plane_mm);
    gl.uniform1f(at.times, times);
    gl.uniform1f(at.thick, film.thickness_mm);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 2 * (mesh[0] + 1), mesh[1]);
    if (fine) {
      gl.bindFramebuffer(gl.READ_FRAMEBUFFER, this.soft.frame);
      gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
      gl.blitFramebuffer(0, 0, canvas.width, canvas.height, 0, 0, canvas.width, canvas.height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    }
    return !fine;
  }

  // paint where several samples of each pixel are kept
  smoothly() {
    const { gl, canvas } = this, { width, height } = canvas;
    this.soft ??= { frame: gl.createFramebuffer(), ink: gl.createRenderbuffer(), depth: gl.createRenderbuffer() };
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.soft.frame);
    if (this.soft.width === width && this.soft.height === height) return;
    const samples = Math.min(4, gl.getParameter(gl.MAX_SAMPLES));
    for (const [part, form, place] of /** @type {const} */ ([['ink', gl.RGBA8, gl.COLOR_ATTACHMENT0], ['depth', gl.DEPTH_COMPONENT24, gl.DEPTH_ATTACHMENT]])) {
      gl.bindRenderbuffer(gl.RENDERBUFFER, this.soft[part]);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, samples, form, width, height);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, this.soft[part]);
    }
    Object.assign(this.soft, { width, height });
  }

  /** @param {Shot} shot
   * @param {FaceName} face
   * @param {Float32Array} view
   * @param {number} times
   * @param {number[]} tone
   * @param {FaceTextures} held */
  paintSide(shot, face, view, times, tone, held) {
    const gl = this.gl, film = this.film;
    const side = shot.trimmed ? held.side : held.blank;
    const other = face === 'front' ? 'back' : 'front';
    const thick = film.thickness_mm + shot[face].plane_mm + shot[other].plane_mm;
    const { made, places } = this.program('sides', SIDE_VERTEX, () => SIDE_FRAGMENT);
    gl.useProgram(made);
    gl.bindVertexArray(side.array);
    gl.uniformMatrix4fv(places.view, false, view);
    gl.uniform1f(places.drop, thick * Math.max(1, times * 0.6));
    gl.uniform3f(places.tone, tone[0], tone[1], tone[2]);
    gl.drawArrays(gl.TRIANGLES, 0, side.count);
    gl.bindVertexArray(null);
  }
}
