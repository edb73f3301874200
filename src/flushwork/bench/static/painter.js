// Paints the board with WebGL2: textures follow the stage tile by tile, one mesh, one shader.

import { BOARD_FRAGMENT, BOARD_VERTEX, SIDE_FRAGMENT, SIDE_VERTEX } from '/static/shaders.js';

const FACES = ['front', 'back'];

function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) {
    const why = gl.getAttachedShaders(made).map((s) => gl.getShaderInfoLog(s)).join(' ');
    throw new Error(`shader: ${gl.getProgramInfoLog(made)} ${why}`);
  }
  const places = {};
  const count = gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS);
  for (let i = 0; i < count; i++) {
    const name = gl.getActiveUniform(made, i).name;
    places[name] = gl.getUniformLocation(made, name);
  }
  return { made, places };
}

export class Painter {
  constructor(canvas) {
    const gl = canvas.getContext('webgl2', { antialias: true, alpha: true, premultipliedAlpha: true });
    if (!gl) throw new Error('no WebGL2');
    this.gl = gl;
    this.canvas = canvas;
    this.board = program(gl, BOARD_VERTEX, BOARD_FRAGMENT);
    this.sides = program(gl, SIDE_VERTEX, SIDE_FRAGMENT);
    this.empty = gl.createVertexArray();
    this.film = null;
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  }

  texture(internal, width, height, format, type, data, levels = 1) {
    const gl = this.gl, made = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, made);
    gl.texStorage2D(gl.TEXTURE_2D, levels, internal, width, height);
    if (data) gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, width, height, format, type, data);
    if (levels > 1 && data) gl.generateMipmap(gl.TEXTURE_2D);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, levels > 1 ? gl.LINEAR_MIPMAP_LINEAR : gl.LINEAR);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
    return made;
  }

  take(film) {
    const gl = this.gl, before = this.film;
    this.film = film;
    const { columns, rows } = film, levels = Math.floor(Math.log2(Math.max(columns, rows))) + 1;
    const [woodX, woodY] = film.wood.size;
    const woodLevels = Math.floor(Math.log2(Math.max(woodX, woodY))) + 1;
    const like = (film_) => film_ && JSON.stringify([film_.columns, film_.rows, film_.side, film_.wood, film_.inside_names, film_.outline]);
    // the same board with other tiles on it: what lies there already need not be laid again
    if (like(before) === like(film)) return;
    FACES.forEach((face) => {
      for (const old of Object.values(this[face]?.textures ?? {})) gl.deleteTexture(old);
      for (const part of [this[face]?.side, this[face]?.blank]) if (part) { gl.deleteBuffer(part.buffer); gl.deleteVertexArray(part.array); }
      this[face] = {
        laid: new Array(film.across * film.up).fill(null),
        textures: {
          heights: this.texture(gl.R16F, columns, rows, gl.RED, gl.HALF_FLOAT, null),
          colour: this.texture(gl.RGBA8, columns, rows, gl.RGBA, gl.UNSIGNED_BYTE, null, levels),
          shine: this.texture(gl.RGBA8, columns, rows, gl.RGBA, gl.UNSIGNED_BYTE, null, levels),
          wood: this.texture(gl.RGB8, woodX, woodY, gl.RGB, gl.UNSIGNED_BYTE, film.woods[face], woodLevels),
          inside: this.texture(gl.R8, columns, rows, gl.RED, gl.UNSIGNED_BYTE, film.insides[face]),
        },
        side: this.outline(film.outline[face]),
        blank: this.outline([[[0, 0], [film.length_mm, 0], [film.length_mm, film.width_mm], [0, film.width_mm], [0, 0]]]),
      };
    });
  }

  outline(rings) {
    const gl = this.gl, points = [];
    for (const ring of rings) {
      for (let i = 0; i + 1 < ring.length; i++) {
        const [a, b] = [ring[i], ring[i + 1]];
        for (const [p, d] of [[a, 0], [b, 0], [a, 1], [a, 1], [b, 0], [b, 1]]) points.push(p[0], p[1], d);
      }
    }
    const array = gl.createVertexArray(), buffer = gl.createBuffer();
    gl.bindVertexArray(array);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(points), gl.STATIC_DRAW);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    gl.bindVertexArray(null);
    return { array, buffer, count: points.length / 3 };
  }

  // bring the textures of a face to a stage: only the tiles that differ go to the card
  bring(face, stage) {
    const gl = this.gl, film = this.film, shot = film.shot(stage)[face], held = this[face];
    const { side, across, columns, rows } = film;
    const changed = [], missing = [];
    for (let i = 0; i < held.laid.length; i++) {
      const name = film.name(shot.grid[i], shot.plane_mm);
      if (held.laid[i] === name) continue;
      if (!film.has(shot.grid[i])) { missing.push(shot.grid[i]); continue; }
      changed.push(i);
      held.laid[i] = name;
    }
    // what is not here yet is laid when it comes; until then the stage before shows there
    if (missing.length) film.fetch([...new Set(missing)]).catch(() => {});
    if (!changed.length) return;
    gl.pixelStorei(gl.UNPACK_ROW_LENGTH, side);
    for (const [name, format, type] of [['heights', gl.RED, gl.HALF_FLOAT], ['colour', gl.RGBA, gl.UNSIGNED_BYTE], ['shine', gl.RGBA, gl.UNSIGNED_BYTE]]) {
      gl.bindTexture(gl.TEXTURE_2D, held.textures[name]);
      const bare = film.tile(-1, shot.plane_mm)[name];
      for (const i of changed) {
        const x = (i % across) * side, y = Math.floor(i / across) * side;
        const data = shot.grid[i] < 0 ? bare : film.tile(shot.grid[i], shot.plane_mm)[name];
        gl.texSubImage2D(gl.TEXTURE_2D, 0, x, y, Math.min(side, columns - x), Math.min(side, rows - y), format, type, data);
      }
    }
    held.blunt = true;
    gl.pixelStorei(gl.UNPACK_ROW_LENGTH, 0);
  }

  // the smaller copies for a distant view cost more than all else: made once the film is at rest
  smooth(face, fine) {
    const gl = this.gl, held = this[face];
    if (!held.blunt) return;
    for (const name of ['colour', 'shine']) {
      gl.bindTexture(gl.TEXTURE_2D, held.textures[name]);
      gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAX_LEVEL, fine ? 1000 : 0);
      if (fine) gl.generateMipmap(gl.TEXTURE_2D);
    }
    held.blunt = !fine;
  }

  paint(scene) {
    const gl = this.gl, film = this.film;
    if (!film) return;
    const { camera, face, stage, lamp, fine, times } = scene;
    this.bring(face, stage);
    this.smooth(face, fine);
    const shot = film.shot(stage), seen = shot[face];
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.enable(gl.DEPTH_TEST);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const tilted = camera.lean !== 0 || camera.flip < 1;
    const reach = film.length_mm + film.width_mm + film.thickness_mm * times * 4;
    const view = camera.matrix(reach);
    if (tilted) this.paintSide(shot, face, view, times, scene.tone);
    gl.useProgram(this.board.made);
    gl.bindVertexArray(this.empty);
    const at = this.board.places, textures = this[face].textures;
    const mesh = tilted ? [Math.min(520, film.columns), Math.min(520, film.rows)] : [1, 1];
    ['heights', 'colour', 'shine', 'wood', 'inside'].forEach((name, unit) => {
      gl.activeTexture(gl.TEXTURE0 + unit);
      gl.bindTexture(gl.TEXTURE_2D, textures[name]);
      gl.uniform1i(at[name], unit);
    });
    gl.activeTexture(gl.TEXTURE0);
    gl.uniform2f(at.size, film.columns * film.px_mm, film.rows * film.px_mm);
    gl.uniform2i(at.mesh, mesh[0], mesh[1]);
    gl.uniform1f(at.plane, seen.plane_mm);
    gl.uniform1f(at.times, tilted ? times : 0);
    gl.uniform1f(at.thick, film.thickness_mm);
    gl.uniform1f(at.px, film.px_mm);
    gl.uniform1f(at.screen, 1 / camera.scale * (camera.width / this.canvas.width));
    gl.uniform3f(at.lamp, lamp[0], lamp[1], lamp[2]);
    gl.uniform1f(at.finished, seen.finished ? 1 : 0);
    gl.uniform1f(at.trimmed, shot.trimmed ? 1 : 0);
    gl.uniform1i(at.fine, fine ? 1 : 0);
    gl.uniformMatrix4fv(at.view, false, view);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 2 * (mesh[0] + 1), mesh[1]);
  }

  paintSide(shot, face, view, times, tone) {
    const gl = this.gl, film = this.film;
    const side = shot.trimmed ? this[face].side : this[face].blank;
    const other = face === 'front' ? 'back' : 'front';
    const thick = film.thickness_mm + shot[face].plane_mm + shot[other].plane_mm;
    gl.useProgram(this.sides.made);
    gl.bindVertexArray(side.array);
    gl.uniformMatrix4fv(this.sides.places.view, false, view);
    gl.uniform1f(this.sides.places.drop, thick * Math.max(1, times * 0.6));
    gl.uniform3f(this.sides.places.tone, tone[0], tone[1], tone[2]);
    gl.drawArrays(gl.TRIANGLES, 0, side.count);
    gl.bindVertexArray(null);
  }
}

// The same board as still pictures, where the machine has no WebGL2.
export class StillPainter {
  constructor(canvas) {
    this.canvas = canvas;
    this.pen = canvas.getContext('2d');
    this.stills = new Map();
    this.last = null;
    this.repaint = () => {};
  }

  take(film) { this.film = film; this.stills.clear(); }

  paint({ camera, face, stage }) {
    const { canvas, pen, film } = this;
    if (!film) return;
    pen.clearRect(0, 0, canvas.width, canvas.height);
    const name = `${stage} ${face}`;
    let picture = this.stills.get(name);
    if (!picture) {
      picture = new Image();
      picture.onload = () => this.repaint();
      picture.src = `/board/${film.generation}/still?stage=${stage}&face=${face}`;
      this.stills.set(name, picture);
    }
    if (!picture.complete || !picture.naturalWidth) {
      // the picture before stays until this one is there
      if (this.last?.face !== face) return;
      picture = this.last.picture;
    } else this.last = { face, picture };
    const k = canvas.width / camera.width;
    const [left, low] = camera.toScreen(0, 0), [right, high] = camera.toScreen(film.length_mm, film.width_mm);
    pen.drawImage(picture, left * k, high * k, (right - left) * k, (low - high) * k);
  }
}
