// The film of the board as the server cut it: which tile lies where after which stage.

const BARE = -1;

const BATCH = 400;

// pixels the page has already, by name: a film shares most of them with the one before it
const held = new Map();

function post(path, body) {
  return fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
}

async function bytes(path, name) {
  if (!held.has(name)) {
    const answer = await fetch(path);
    if (!answer.ok) throw new Error(`the board has changed (${answer.status})`);
    held.set(name, new Uint8Array(await answer.arrayBuffer()));
  }
  return held.get(name);
}

// a film as far as it is needed at once: everything but the pixels of the stages not in sight
export async function loadFilm(generation, stage, face) {
  const base = `/board/${generation}`, answer = await fetch(`${base}/film`);
  if (!answer.ok) throw new Error(`the board has changed (${answer.status})`);
  const film = new Film(generation, await answer.json());
  const faces = ['front', 'back'];
  const [woods, insides] = await Promise.all([
    Promise.all(faces.map((f, i) => bytes(`${base}/wood?face=${f}`, film.wood.names[i]))),
    Promise.all(faces.map((f, i) => bytes(`${base}/inside?face=${f}`, film.inside_names[i]))),
    film.fetch(film.missing(stage ?? film.last, face)),
  ]);
  film.woods = { front: woods[0], back: woods[1] };
  film.insides = { front: insides[0], back: insides[1] };
  return film;
}

export class Film {
  constructor(generation, index) {
    Object.assign(this, index);
    this.generation = generation;
    this.tileBytes = this.side * this.side * 10;
    this.byStage = new Map(this.shots.map((shot) => [shot.stage, shot]));
    this.across = Math.ceil(this.columns / this.side);
    this.up = Math.ceil(this.rows / this.side);
    this.asked = new Set();
    this.come = () => {};
    for (const face of this.faces) face.grid = this.laid(face);
    for (const shot of this.shots) {
      for (const face of ['front', 'back']) shot[face] = this.faces[shot[face]];
    }
  }

  // the numbers of the tiles of a face after a stage that are not here yet
  missing(stage, face) {
    const wanted = new Set();
    for (const number of this.shot(stage)[face].grid) {
      if (number >= 0 && !held.has(this.tiles[number])) wanted.add(number);
    }
    return [...wanted];
  }

  async fetch(numbers) {
    const want = numbers.filter((number) => !this.asked.has(number) && !held.has(this.tiles[number]));
    for (let i = 0; i < want.length; i += BATCH) {
      const part = want.slice(i, i + BATCH);
      for (const number of part) this.asked.add(number);
      const answer = await post(`/board/${this.generation}/tiles`, { want: part });
      if (!answer.ok) throw new Error(`the board has changed (${answer.status})`);
      const data = await answer.arrayBuffer();
      part.forEach((number, at) => held.set(this.tiles[number], new Uint8Array(data, at * this.tileBytes, this.tileBytes)));
      this.come();
    }
  }

  // all other pixels, while nobody waits for them; what no film needs any more goes
  async rest() {
    const needed = new Set([...this.tiles, ...this.wood.names, ...this.inside_names]);
    for (const name of [...held.keys()]) if (!needed.has(name)) held.delete(name);
    try { await this.fetch(this.tiles.map((_, number) => number)); } catch { /* a newer film is on its way */ }
  }

  has(number) { return number === BARE || held.has(this.tiles[number]); }

  name(number, plane) { return number === BARE ? `plane ${plane}` : this.tiles[number]; }

  get last() { return this.shots[this.shots.length - 1].stage; }

  shot(stage) { return this.byStage.get(stage) ?? this.shots[this.shots.length - 1]; }

  laid(face) {
    const grid = new Int32Array(this.across * this.up).fill(BARE);
    for (let i = 0; i < face.tiles.length; i += 3) {
      const [column, row, tile] = [face.tiles[i], face.tiles[i + 1], face.tiles[i + 2]];
      if (column >= 0 && row >= 0 && column < this.across && row < this.up) {
        grid[row * this.across + column] = tile;
      }
    }
    return grid;
  }

  // heights (half floats), colour and shine of one tile; tiles beyond the last row are cut off by the caller
  tile(number, plane) {
    const n = this.side * this.side;
    if (number === BARE) {
      const heights = new Uint16Array(n).fill(half(plane));
      return { heights, colour: new Uint8Array(n * 4), shine: new Uint8Array(n * 4) };
    }
    const data = held.get(this.tiles[number]), { buffer, byteOffset: at } = data;
    return {
      heights: new Uint16Array(buffer, at, n),
      colour: new Uint8Array(buffer, at + n * 2, n * 4),
      shine: new Uint8Array(buffer, at + n * 6, n * 4),
    };
  }
}

// a number as the bits of a half-precision float (IEEE 754, binary16)
export function half(value) {
  const bits = new Uint32Array(new Float32Array([value]).buffer)[0];
  const sign = (bits >>> 16) & 0x8000;
  const power = ((bits >>> 23) & 0xff) - 112;
  if (power <= 0) return sign;
  if (power >= 31) return sign | 0x7c00;
  return sign | ((power << 10) + ((bits & 0x7fffff) >>> 13) + ((bits >>> 12) & 1));
}
