// @ts-check
// One face of the board on the graphics card: its textures follow the stage tile by tile.

// what a tile shows: bare level wood, level with something over the wood, a relief; flakes come on top
export const [BARE, LEVEL, RELIEF, FLAKES] = [0, 1, 2, 4];
// how well it is painted: not at all, coarsely or sharply for a picture in motion, for one at rest
export const [NOT, COARSE, QUICK, FINE] = [0, 1, 2, 3];
const LEVEL_MM = 0.008;
const WHOLE = 4;

export function texture(gl, internal, width, height, format, type, data, levels = 1) {
  const made = gl.createTexture();
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

function outline(gl, rings) {
  const points = [];
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

export class FaceTextures {
  constructor(gl, film, face) {
    this.gl = gl;
    this.film = film;
    this.face = face;
    const { columns, rows } = film, [woodX, woodY] = film.wood.size;
    const levels = (x, y) => Math.floor(Math.log2(Math.max(x, y))) + 1;
    const count = film.across * film.up, byte = gl.UNSIGNED_BYTE;
    this.laid = new Array(count).fill(null);
    this.looks = new Array(count).fill(film.look(-1, 0));
    this.kind = new Uint8Array(count);
    this.done = new Uint8Array(count);
    // what lies here is a stage as a whole, or nothing yet
    this.shot = null;
    this.textures = {
      heights: texture(gl, gl.R16F, columns, rows, gl.RED, gl.HALF_FLOAT, null),
      colour: texture(gl, gl.RGBA8, columns, rows, gl.RGBA, byte, null, levels(columns, rows)),
      shine: texture(gl, gl.RGBA8, columns, rows, gl.RGBA, byte, null, levels(columns, rows)),
      wood: texture(gl, gl.RGB8, woodX, woodY, gl.RGB, byte, film.woods[face], levels(woodX, woodY)),
      inside: texture(gl, gl.R8, columns, rows, gl.RED, byte, film.insides[face]),
    };
    this.side = outline(gl, film.outline[face]);
    this.blank = outline(gl, [[[0, 0], [film.length_mm, 0], [film.length_mm, film.width_mm], [0, film.width_mm], [0, 0]]]);
  }

  drop() {
    const { gl } = this;
    for (const old of Object.values(this.textures)) gl.deleteTexture(old);
    for (const part of [this.side, this.blank]) { gl.deleteBuffer(part.buffer); gl.deleteVertexArray(part.array); }
  }

  take(film) {
    this.film = film;
    this.at = null;
  }

  // bring the textures of a face to a stage, only the tiles that differ going to the card; say
  // whether it lies there.  A stage of which tiles are not here yet is not laid in part: no such
  // board ever was.  The stage before stays until they have come
  bring(stage) {
    const { gl, film } = this, whole = film.shot(stage), shot = whole[this.face];
    if (this.at === stage) return true;
    const missing = film.missing(stage, this.face);
    if (missing.length) { film.want(missing); return false; }
    Object.assign(this, { at: stage, shot: whole });
    const { side, across, columns, rows } = film;
    const changed = [];
    const plain = film.name(-1, shot.plane_mm), bare = film.look(-1, shot.plane_mm);
    for (let i = 0; i < this.laid.length; i++) {
      const number = shot.grid[i], name = number < 0 ? plain : film.name(number);
      if (this.laid[i] === name) continue;
      // colour and shine of bare wood are nothing, and so is what lies there at first
      const empty = number < 0 && !this.looks[i].ink[WHOLE];
      changed.push({ i, number, empty });
      this.laid[i] = name;
      this.looks[i] = number < 0 ? bare : film.look(number);
    }
    if (!changed.length) return true;
    gl.pixelStorei(gl.UNPACK_ROW_LENGTH, side);
    const ground = film.tile(-1, shot.plane_mm);
    for (const [name, format, type] of [['heights', gl.RED, gl.HALF_FLOAT], ['colour', gl.RGBA, gl.UNSIGNED_BYTE], ['shine', gl.RGBA, gl.UNSIGNED_BYTE]]) {
      gl.bindTexture(gl.TEXTURE_2D, this.textures[name]);
      for (const { i, number, empty } of changed) {
        if (empty && name !== 'heights') continue;
        const x = (i % across) * side, y = Math.floor(i / across) * side;
        const data = number < 0 ? ground[name] : film.tile(number)[name];
        gl.texSubImage2D(gl.TEXTURE_2D, 0, x, y, Math.min(side, columns - x), Math.min(side, rows - y), format, type, data);
      }
    }
    gl.pixelStorei(gl.UNPACK_ROW_LENGTH, 0);
    if (!this.blunt && changed.some(({ empty }) => !empty)) this.blur(true);
    this.worn(changed.map(({ i }) => i));
    return true;
  }

  // a tile looks another way if it changed, or if a neighbour did that it mirrors or is shaded by;
  // level wood that still is level wood looks as it did
  worn(changed) {
    const own = new Set(changed), around = new Set();
    for (const at of changed) this.near(at, (i) => around.add(i));
    for (const i of around) {
      const was = this.kind[i], now = this.kind[i] = this.kindOf(i);
      if ((was === BARE && now === BARE) || (!own.has(i) && was === now && !(now & RELIEF) && !this.touched(i))) continue;
      this.done[i] = NOT;
    }
  }

  near(at, each) {
    const { across, up } = this.film, x = at % across, y = Math.floor(at / across);
    for (let row = -1; row <= 1; row++) {
      for (let column = -1; column <= 1; column++) {
        if (y + row < 0 || y + row >= up || x + column < 0 || x + column >= across) continue;
        // the part of the neighbour that faces this tile
        each(at + row * across + column, 3 * (1 - row) + 1 - column);
      }
    }
  }

  touched(at) {
    let ink = false;
    this.near(at, (i, part) => { if (i !== at && this.looks[i].ink[part]) ink = true; });
    return ink;
  }

  kindOf(at) {
    let low = Infinity, high = -Infinity, ink = 0;
    this.near(at, (i, part) => {
      const each = this.looks[i];
      low = Math.min(low, each.low[part]);
      high = Math.max(high, each.high[part]);
      ink |= each.ink[part];
    });
    const ground = high - low > LEVEL_MM ? RELIEF : ink ? LEVEL : BARE;
    return ground | (this.looks[at].flakes ? FLAKES : 0);
  }

  // the smaller copies for a distant view are made anew once the film is at rest
  blur(blunt) {
    const { gl } = this;
    for (const name of ['colour', 'shine']) {
      gl.bindTexture(gl.TEXTURE_2D, this.textures[name]);
      gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAX_LEVEL, blunt ? 0 : 1000);
      if (!blunt) gl.generateMipmap(gl.TEXTURE_2D);
    }
    this.blunt = blunt;
  }
}
