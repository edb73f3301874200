// The film of the board as the server cut it: which tile lies where after which stage.

const BARE = -1;

export async function loadFilm(generation) {
  const base = `/board/${generation}`;
  const ask = async (path) => {
    const answer = await fetch(base + path);
    if (!answer.ok) throw new Error(`the board has changed (${answer.status})`);
    return answer;
  };
  const index = await (await ask('/film')).json();
  const [pixels, woods, insides] = await Promise.all([
    ask('/pixels').then((a) => a.arrayBuffer()),
    Promise.all(['front', 'back'].map((f) => ask(`/wood?face=${f}`).then((a) => a.arrayBuffer()))),
    Promise.all(['front', 'back'].map((f) => ask(`/inside?face=${f}`).then((a) => a.arrayBuffer()))),
  ]);
  return new Film(generation, index, pixels, woods, insides);
}

export class Film {
  constructor(generation, index, pixels, woods, insides) {
    Object.assign(this, index);
    this.generation = generation;
    this.pixels = pixels;
    this.woods = { front: new Uint8Array(woods[0]), back: new Uint8Array(woods[1]) };
    this.insides = { front: new Uint8Array(insides[0]), back: new Uint8Array(insides[1]) };
    this.tileBytes = this.side * this.side * 10;
    this.byStage = new Map(this.shots.map((shot) => [shot.stage, shot]));
    this.across = Math.ceil(this.columns / this.side);
    this.up = Math.ceil(this.rows / this.side);
    for (const shot of this.shots) {
      for (const face of ['front', 'back']) shot[face].grid = this.laid(shot[face]);
    }
  }

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
    const at = number * this.tileBytes;
    return {
      heights: new Uint16Array(this.pixels, at, n),
      colour: new Uint8Array(this.pixels, at + n * 2, n * 4),
      shine: new Uint8Array(this.pixels, at + n * 6, n * 4),
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
