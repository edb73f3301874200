// @ts-check
// The film of the board as the server cut it: which tile lies where after which stage.

/** @typedef {'front' | 'back'} FaceName */
/** @typedef {{ plane_mm: number, finished: boolean, tiles: number[], grid: Int32Array }} Look
 * a face after one or more stages: where its plane lies, and which tile lies where */
/** @typedef {{ stage: number, trimmed: boolean, front: Look, back: Look }} Shot the board after a stage */
/** @typedef {{ low: Float64Array, high: Float64Array, ink: Uint8Array, flakes: boolean }} TileLook
 * what of a tile decides how it is painted (`lookOf`) */
/** @typedef {{ heights: Uint16Array, colour: Uint8Array, shine: Uint8Array }} Pixels */
/** @typedef {{ segments: Float32Array, count: number }} Lines
 * outlines in straight pieces, each as x, y, x, y in mm, whether it is one of the trim line, and the
 * stages from which on and before which it is there */
/** @typedef {{ generation: number, tiles: string[], sent: number[], looks: { face: FaceName, tiles: number[] }[], stages: [number, number][] }} Changed
 * what the bench tells of a changed depth */

export const BARE = -1;
// figures of each straight piece of an outline
export const PIECE = 7;
/** @type {FaceName[]} */
const FACES = ['front', 'back'];

// the look kept from last time names its pixels by itself
export const KEPT_LOOK = 1;
const BATCH = 400, QUIET_BATCH = 60;

// pixels the page has already, by name: a film shares most of them with the one before it
/** @type {Map<string, Uint8Array<ArrayBuffer>>} */
const held = new Map();
/** @type {Map<string, TileLook>} */
// and what they show, by the same names
const looks = new Map();
const SHADOW_MM = 3.2;
const AGAIN_MS = 1000;
// so many tiles are looked at in one go while the page is at rest
const LOOKS = 24;

// pixels the browser keeps for a reload, by the same names; it keeps none of another run of the bench
const KEPT = 'the pixels of the board';
const store = (async () => { try { return await globalThis.caches?.open(KEPT); } catch { return undefined; } })();
const placeOf = (name) => `/pixels/${encodeURIComponent(name)}`;

async function recall(names) {
  const kept = await store;
  if (!kept) return;
  await Promise.all(names.map(async (name) => {
    const found = held.has(name) ? undefined : await kept.match(placeOf(name)).catch(() => undefined);
    if (found) held.set(name, new Uint8Array(await found.arrayBuffer()));
  }));
}

// what lies here goes into the browser's store, and what no film needs goes out of it
async function remember(needed) {
  const kept = await store;
  if (!kept) return;
  const places = new Map([...needed].filter((name) => held.has(name)).map((name) => [placeOf(name), name]));
  for (const { url } of await kept.keys()) {
    const place = new URL(url).pathname;
    if (!places.delete(place)) await kept.delete(place);
  }
  for (const [place, name] of places) if (held.has(name)) await kept.put(place, new Response(held.get(name)));
}

/** @param {string} path
 * @param {object} body */
export function post(path, body) {
  return fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
}

async function bytes(path, name) {
  await recall([name]);
  if (!held.has(name)) {
    const answer = await fetch(path);
    if (!answer.ok) throw Object.assign(new Error(`the board has changed (${answer.status}).`), { status: answer.status });
    held.set(name, new Uint8Array(await answer.arrayBuffer()));
  }
  return held.get(name);
}

// a film as far as it is needed at once: the face and the stage in sight; with ``first`` its pixels are on their way
export async function loadFilm(generation, stage, face, first = false) {
  const base = `/board/${generation}`, pixels = first ? fetch(`${base}/first?face=${face}`).catch(() => null) : null;
  const answer = await fetch(`${base}/film`);
  if (!answer.ok) throw Object.assign(new Error(`the board has changed (${answer.status}).`), { status: answer.status });
  const film = new Film(generation, await answer.json()), early = await pixels;
  if (early?.ok) film.hold(...toldOf(await early.arrayBuffer()));
  await Promise.all([film.surround(face), film.fetch(film.missing(stage ?? film.last, face))]);
  return film;
}

// what the server tells of a changed depth: a length, words, and the pixels of what moved in sight
export function toldOf(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  return [JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length))), buffer, 4 + length];
}

export class Film {
  // as the bench tells them
  /** @type {Shot[]} */
  shots;
  /** @type {string[]} the names of all tiles, by their numbers */
  tiles;
  /** @type {Look[]} */
  faces;
  /** @type {{ px_mm: number, size: [number, number], names: string[] }} */
  wood;
  /** @type {string[]} */
  inside_names;
  /** @type {Record<FaceName, [number, number][][]>} */
  outline;
  /** @type {boolean} */
  turn_about_x;
  /** @type {number} */
  side; columns; rows; px_mm; cell_mm; length_mm; width_mm; thickness_mm;
  stopped = false;

  /** @param {number} generation
   * @param {any} index as the bench told it: its shots name their looks by number */
  constructor(generation, index) {
    Object.assign(this, index);
    /** @type {number} */
    this.generation = generation;
    this.tileBytes = this.side * this.side * 10;
    this.byStage = new Map(this.shots.map((shot) => [shot.stage, shot]));
    this.across = Math.ceil(this.columns / this.side);
    this.up = Math.ceil(this.rows / this.side);
    /** @type {Set<number>} */
    this.asked = new Set();
    /** @type {Set<string>} */
    this.wanting = new Set();
    /** @type {Partial<Record<FaceName, Uint8Array>>} */
    this.woods = {};
    /** @type {Partial<Record<FaceName, Uint8Array>>} */
    this.insides = {};
    /** @type {Partial<Record<FaceName, Lines>>} the outlines of each face that was looked at close up */
    this.lines = {};
    this.come = () => {};
    for (const face of this.faces) face.grid = this.laid(face);
    for (const shot of this.shots) {
      // the bench tells each look once, and of a shot its number
      for (const face of FACES) shot[face] = this.faces[Number(shot[face])];
    }
  }

  // this film with the tiles that one changed depth moves
  changed(told, buffer, from) {
    const film = Object.assign(Object.create(Film.prototype), this);
    Object.assign(film, { generation: told.generation, tiles: [...this.tiles, ...told.tiles], asked: new Set(), wanting: new Set(), come: () => {}, stopped: false });
    const laid = new Map();
    const moved = (shot, number) => {
      const { face, tiles } = told.looks[number];
      if (!laid.has(number)) {
        const grid = this.laid({ tiles }, shot[face].grid);
        laid.set(number, { ...shot[face], grid });
      }
      return { ...shot, [face]: laid.get(number) };
    };
    film.byStage = new Map(this.byStage);
    for (const [stage, number] of told.stages) film.byStage.set(stage, moved(film.byStage.get(stage), number));
    film.shots = this.shots.map((shot) => film.byStage.get(shot.stage));
    film.hold(told, buffer, from);
    return film;
  }

  // pixels as they were sent: those of the tiles told, one after the other
  hold({ sent }, buffer, from) {
    sent.forEach((number, at) => held.set(this.tiles[number], new Uint8Array(buffer, from + at * this.tileBytes, this.tileBytes)));
  }

  // the bare wood of a face, and its trim line
  async surround(face) {
    const base = `/board/${this.generation}`, at = FACES.indexOf(face);
    const [wood, inside] = await Promise.all([
      bytes(`${base}/wood?face=${face}`, this.wood.names[at]),
      bytes(`${base}/inside?face=${face}`, this.inside_names[at]),
    ]);
    if (this.woods[face]) return;
    this.woods[face] = wood;
    this.insides[face] = inside;
    this.come();
  }

  // the outlines of a face as they were cut: of a depth that is tried, those it was changed from
  /** @param {FaceName} face */
  async outlined(face) {
    const answer = await fetch(`/board/${this.generation}/edges?face=${face}`);
    if (!answer.ok) throw Object.assign(new Error(`the board has changed (${answer.status}).`), { status: answer.status });
    const buffer = await answer.arrayBuffer(), [{ lines }, , from] = toldOf(buffer), points = new Float32Array(buffer, from);
    this.lines[face] = piecesOf(lines, points);
    this.come();
  }

  // the numbers of the tiles of a face after a stage that are not here yet
  missing(stage, face) {
    const wanted = new Set();
    for (const number of this.shot(stage)[face].grid) {
      if (number >= 0 && !held.has(this.tiles[number])) wanted.add(number);
    }
    return [...wanted];
  }

  async fetch(numbers, batch = BATCH) {
    const near = numbers.filter((number) => !this.asked.has(number) && !held.has(this.tiles[number]));
    if (near.length && this.generation !== KEPT_LOOK) await recall(near.map((number) => this.tiles[number]));
    const want = near.filter((number) => !this.asked.has(number) && !held.has(this.tiles[number]));
    if (near.length > want.length) this.come();
    for (let i = 0; i < want.length; i += batch) {
      // what nobody waits for gives way to a change
      if (this.stopped && batch !== BATCH) return;
      const part = want.slice(i, i + batch);
      for (const number of part) this.asked.add(number);
      try {
        const answer = await post(`/board/${this.generation}/tiles`, { want: part });
        if (!answer.ok) throw Object.assign(new Error(`the board has changed (${answer.status}).`), { status: answer.status });
        const data = await answer.arrayBuffer();
        part.forEach((number, at) => held.set(this.tiles[number], new Uint8Array(data, at * this.tileBytes, this.tileBytes)));
      } finally {
        // what did not come is asked for again when it is next looked at
        for (const number of part) this.asked.delete(number);
      }
      this.come();
    }
  }

  // what is looked at and not here: one question of a kind at a time, so that the latest is soon
  // answered; one that failed is asked again
  async once(kind, ask) {
    if (this.wanting.has(kind)) return;
    this.wanting.add(kind);
    try { await ask(); } catch { setTimeout(() => this.come(), AGAIN_MS); }
    this.wanting.delete(kind);
  }

  want(numbers) { return this.once('tiles', () => this.fetch(numbers)); }

  wantFace(face) { return this.once(face, () => this.surround(face)); }

  // what no film needs any more goes; what is here is kept for a reload
  async rest() {
    if (this.stopped) return;
    const needed = new Set([...this.tiles, ...this.wood.names, ...this.inside_names]);
    for (const name of [...held.keys()]) if (!needed.has(name)) { held.delete(name); looks.delete(name); }
    await this.seen();
    if (this.generation !== KEPT_LOOK && !this.stopped) await remember(needed).catch(() => {});
  }

  // all other pixels, for one who is about to go through the stages: those next to a stage first
  async all(stage = this.last) {
    const near = [...this.shots].sort((a, b) => Math.abs(a.stage - stage) - Math.abs(b.stage - stage));
    const numbers = new Set(near.flatMap((shot) => FACES.flatMap((face) => [...shot[face].grid])));
    numbers.delete(BARE);
    try {
      for (const face of FACES) if (!this.woods[face]) await this.surround(face);
      await this.fetch([...numbers], QUIET_BATCH);
      await this.seen();
    } catch { setTimeout(() => this.come(), AGAIN_MS); }
  }

  // how each tile is to be painted is found out before it is first shown
  async seen() {
    for (let at = 0; at < this.tiles.length && !this.stopped; at += LOOKS) {
      for (let i = at; i < Math.min(at + LOOKS, this.tiles.length); i++) if (held.has(this.tiles[i])) this.look(i);
      await new Promise((done) => setTimeout(done));
    }
  }

  name(number, plane) { return number === BARE ? `plane ${plane}` : this.tiles[number]; }

  // what of a tile decides how it is painted
  look(number, plane) {
    if (number === BARE) return { low: new Float64Array(9).fill(plane), high: new Float64Array(9).fill(plane), ink: new Uint8Array(9), flakes: false };
    const name = this.tiles[number];
    if (!looks.has(name)) looks.set(name, lookOf(this.tile(number), this.side, Math.min(this.side, Math.ceil(SHADOW_MM / this.px_mm) + 2)));
    return looks.get(name);
  }

  get last() { return this.shots[this.shots.length - 1].stage; }

  shot(stage) { return this.byStage.get(stage) ?? this.shots[this.shots.length - 1]; }

  laid(face, over) {
    const grid = over ? over.slice() : new Int32Array(this.across * this.up).fill(BARE);
    for (let i = 0; i < face.tiles.length; i += 3) {
      const [column, row, tile] = [face.tiles[i], face.tiles[i + 1], face.tiles[i + 2]];
      if (column >= 0 && row >= 0 && column < this.across && row < this.up) {
        grid[row * this.across + column] = tile;
      }
    }
    return grid;
  }

  // heights (half floats), colour and shine of one tile; tiles beyond the last row are cut off by the caller
  /** @param {number} number
   * @param {number} [plane]
   * @returns {Pixels} */
  tile(number, plane) { return this.parts(number === BARE ? null : held.get(this.tiles[number]), this.side, plane); }

  /** A tile so many pixels wide from what was sent of it; without that, bare wood at a height.
   * @param {Uint8Array | null} data
   * @param {number} side
   * @param {number} [plane]
   * @returns {Pixels} */
  parts(data, side, plane) {
    const n = side * side;
    if (!data) {
      const heights = new Uint16Array(n).fill(half(plane));
      return { heights, colour: new Uint8Array(n * 4), shine: new Uint8Array(n * 4) };
    }
    const { buffer, byteOffset: at } = data;
    return {
      heights: new Uint16Array(buffer, at, n),
      colour: new Uint8Array(buffer, at + n * 2, n * 4),
      shine: new Uint8Array(buffer, at + n * 6, n * 4),
    };
  }
}

// The ground of a tile and of the parts of it that face each neighbour (as deep as a shadow reaches):
// lowest and highest in mm, and whether anything covers the wood.  Part 3 * (up + 1) + across + 1
// faces the neighbour so many tiles up and across; part 4 is the whole tile.
export function lookOf({ heights, colour, shine }, side, reach) {
  const colours = words(colour), shines = words(shine), far = side - reach;
  const low = new Float64Array(9).fill(Infinity), high = new Float64Array(9).fill(-Infinity), ink = new Uint8Array(9);
  const from = [0, 0, far], to = [reach, side, side];
  let flash = 0;
  for (let y = 0; y < side; y++) {
    const y0 = y < reach ? 0 : 1, y1 = y >= far ? 2 : 1;
    for (let column = 0; column < 3; column++) {
      const end = y * side + to[column];
      let least = Infinity, most = -Infinity, covered = 0;
      for (let i = y * side + from[column]; i < end; i++) {
        const bits = heights[i], order = bits & 0x8000 ? -(bits & 0x7fff) : bits;
        if (order < least) least = order;
        if (order > most) most = order;
        covered |= colours[i] | shines[i];
        if ((shines[i] & 255) > flash) flash = shines[i] & 255;
      }
      for (let part = 3 * y0 + column; part <= 3 * y1 + column; part += 3) {
        if (least < low[part]) low[part] = least;
        if (most > high[part]) high[part] = most;
        if (covered) ink[part] = 1;
      }
    }
  }
  return { low: low.map(whole), high: high.map(whole), ink, flakes: flash > 2 };
}

// the straight pieces of lines
/** @param {[number, number, number, string][]} lines of each how many points it has, from which stage on and before which it is there, its kind
 * @param {Float32Array} points
 * @returns {Lines} */
function piecesOf(lines, points) {
  const count = lines.reduce((sum, [points]) => sum + points - 1, 0), segments = new Float32Array(count * PIECE);
  let at = 0, from = 0;
  for (const [many, since, until, kind] of lines) {
    for (let i = from; i + 1 < from + many; i++, at += PIECE) {
      segments.set(points.subarray(i * 2, i * 2 + 4), at);
      segments.set([kind === 'trim' ? 1 : 0, since, until], at + 4);
    }
    from += many;
  }
  return { segments, count };
}

function words(bytes) { return new Uint32Array(bytes.buffer, bytes.byteOffset, bytes.length / 4); }

// a half-precision float, its bits as a number that rises with it
function whole(order) {
  const bits = Math.abs(order), power = bits >> 10, part = bits & 1023;
  return Math.sign(order) * (power ? 2 ** (power - 15) * (1 + part / 1024) : 2 ** -14 * part / 1024);
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
