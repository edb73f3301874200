// @ts-check
// The shaders of the living board: wood below, resin over it, flakes that flash under a lamp.

export const BOARD_VERTEX = `#version 300 es
precision highp float; precision highp int; precision highp sampler2D;
uniform vec2 size;        // of the board, mm
uniform ivec2 mesh;       // squares across and up
uniform float plane;      // height of the untouched face, mm
uniform float times;      // depth shown so many times; 0 lies flat
uniform mat4 view;
uniform float thick;      // of the board, mm: no hole is deeper
uniform float trimmed;
uniform sampler2D heights, inside;
out vec2 place;           // 0 to 1 over the face
void main() {
  ivec2 corner = ivec2(gl_VertexID / 2, gl_InstanceID + (gl_VertexID & 1));
  place = vec2(corner) / vec2(mesh);
  float z = times > 0.0 ? max(textureLod(heights, place, 0.0).r - plane, -thick) : 0.0;
  // the saw cut along the trim line is no part of the piece
  if (trimmed > 0.5 && textureLod(inside, place, 0.0).r < 0.999) z = 0.0;
  gl_Position = view * vec4(place * size, z * times, 1.0);
}`;

// The board as it lies: one square for each tile that is to be painted.
export const TILE_VERTEX = `#version 300 es
precision highp float; precision highp int;
layout(location = 0) in float tile;
uniform vec2 size;
uniform vec2 texels;      // of the face
uniform ivec2 tiles;      // how many lie side by side, and the texels along one
uniform float grow;       // wider on every side, mm
uniform mat4 view;
out vec2 place;
void main() {
  ivec2 corner = ivec2(gl_VertexID & 1, gl_VertexID >> 1);
  ivec2 at = ivec2(int(tile) % tiles.x, int(tile) / tiles.x) + corner;
  place = min(vec2(at * tiles.y), texels) / texels;
  place = clamp(place + grow * vec2(2 * corner - 1) / size, 0.0, 1.0);
  gl_Position = view * vec4(place * size, 0.0, 1.0);
}`;

// so many pixels around the screen are looked at as well
export const MARGIN = 64;

// Of each pixel the way to the nearest outline: one square around each of its pieces.
export const EDGE_VERTEX = `#version 300 es
precision highp float; precision highp int;
layout(location = 0) in vec4 ends;   // of a piece, mm
layout(location = 1) in vec3 kind;   // 0 what is cut or filled, 1 the trim line; the stages it is there
uniform float stage;
uniform mat4 view;
uniform vec2 fit;         // the screen's share of the picture, which goes beyond it on every side
uniform vec2 clear;       // so far from either its texels hold something of what lies beyond, mm
out vec2 mm;
flat out vec4 piece;
flat out float reach;
void main() {
  piece = ends;
  reach = kind.x > 0.5 ? clear.y : clear.x;
  vec2 along = ends.zw - ends.xy;
  along = dot(along, along) > 0.0 ? normalize(along) * reach : vec2(reach, 0.0);
  vec2 side = vec2(-along.y, along.x) * ((gl_VertexID & 1) == 0 ? -1.0 : 1.0);
  mm = ((gl_VertexID >> 1) == 0 ? ends.xy - along : ends.zw + along) + side;
  gl_Position = view * vec4(mm, 0.0, 1.0);
  gl_Position.xy *= fit;
  // what is not there at this stage lies behind all that is to be seen
  if (stage < kind.y || stage >= kind.z) gl_Position = vec4(0.0, 0.0, 2.0, 1.0);
}`;

export const EDGE_FRAGMENT = `#version 300 es
precision highp float; precision highp int;
in vec2 mm;
flat in vec4 piece;
flat in float reach;
out vec4 way;             // from the outline to here: its direction, how long it is, how long until clear of the edge
void main() {
  vec2 along = piece.zw - piece.xy;
  float share = clamp(dot(mm - piece.xy, along) / max(dot(along, along), 1e-12), 0.0, 1.0);
  vec2 off = mm - piece.xy - share * along;
  float far = length(off);
  if (far >= reach) discard;
  vec2 away = far > 1e-5 ? off / far : vec2(-along.y, along.x) / max(length(along), 1e-6);
  gl_FragDepth = far / reach;
  way = vec4(away, far, reach);
}`;

// A tile of a coarser picture laid into the one on the screen.
export const LAY_FRAGMENT = `#version 300 es
precision highp float; precision highp int; precision highp sampler2D;
uniform sampler2D coarse;
uniform vec2 screen;      // pixels of the picture it is laid into
out vec4 ink;
void main() { ink = texture(coarse, gl_FragCoord.xy / screen); }`;

// What a tile asks for: INK where anything covers the wood, FLAKES where any flash, RELIEF where the
// ground is not level, FINE for its shadows in full, FINISHED under a finish, LYING for a board that
// neither leans nor is being turned, EDGED where edges are those of the outlines: near one, what lies
// on the same side of it is shown, from as far off as no texel holds anything of the other.  What is not asked for would be nothing there: a program
// without it paints the same at a part of the work.
/** @param {string[]} asked */
export function boardFragment(...asked) {
  return `#version 300 es\n${asked.map((name) => `#define ${name}\n`).join('')}${BOARD}`;
}

const BOARD = `precision highp float; precision highp int; precision highp sampler2D;
in vec2 place;
out vec4 ink;
uniform vec2 size;
uniform float px;         // a texel, mm
uniform float screen;     // a pixel of the screen, mm on the board
uniform vec3 lamp;        // mm, above the face
uniform float trimmed;
uniform sampler2D heights, colour, shine, wood, inside;
uniform vec2 from, span;  // where the texels of heights, colour and shine begin, how far they go, mm
#ifdef EDGED
uniform sampler2D nearest;
vec2 here;                // of this pixel, mm
vec4 own;                 // its way to the nearest outline
vec4 way(vec2 mm) { return texelFetch(nearest, ivec2(gl_FragCoord.xy + (mm - here) / screen) + ${MARGIN}, 0); }
#endif

float scatter(ivec2 at, uint seed) {
  uint m = uint(at.x) * 0x9E3779B1u + uint(at.y) * 0x85EBCA77u + seed * 0xC2B2AE3Du;
  m = (m ^ (m >> 15)) * 0x2C1B3C6Du;
  m = (m ^ (m >> 12)) * 0x297A2D39u;
  return float(m ^ (m >> 15)) / 4294967296.0;
}
float cloud(vec2 p, uint seed) {
  ivec2 c = ivec2(floor(p));
  vec2 f = p - vec2(c);
  f = f * f * (3.0 - 2.0 * f);
  return mix(mix(scatter(c, seed), scatter(c + ivec2(1, 0), seed), f.x),
             mix(scatter(c + ivec2(0, 1), seed), scatter(c + ivec2(1, 1), seed), f.x), f.y);
}
ivec2 texel(vec2 mm) { return clamp(ivec2((mm - from) / px), ivec2(0), textureSize(heights, 0) - 1); }
#ifdef EDGED
float top(vec2 mm) {
  vec4 e = way(mm);
  if (e.a > e.b) {
    vec2 at = mm + e.xy * (e.a - e.b);
    vec4 beyond = way(at);
    if (beyond.a == 0.0 || dot(mm - at + beyond.xy * beyond.b, beyond.xy) >= 0.0) return texelFetch(heights, texel(at), 0).r;
  }
  // beyond the screen no outline is known: a mean over one texel lets no step of the texels be seen
  vec4 at = vec4(mm - from, mm - from) + 0.25 * px * vec4(-1.0, -1.0, 1.0, 1.0);
  at /= span.xyxy;
  return 0.25 * (textureLod(heights, at.xy, 0.0).r + textureLod(heights, at.zy, 0.0).r
               + textureLod(heights, at.xw, 0.0).r + textureLod(heights, at.zw, 0.0).r);
}
// beside a wall the ground rises no sooner than at the wall, but for so much that it can be seen
float beside(vec2 mm, vec2 off, float z) {
  return own.b > 1.5 * screen && dot(off, own.xy) < -own.b ? z : top(mm + off);
}
#else
float top(vec2 mm) { return texture(heights, (mm - from) / span).r; }
float beside(vec2 mm, vec2 off, float z) { return top(mm + off); }
#endif
#ifdef FINE
float about(vec2 mm) { return top(mm); }
#else
float about(vec2 mm) { return texelFetch(heights, texel(mm), 0).r; }
#endif

vec4 scatters(ivec2 at, uint seed) {
  uint m = uint(at.x) * 0x9E3779B1u + uint(at.y) * 0x85EBCA77u + seed * 0xC2B2AE3Du;
  m = (m ^ (m >> 15)) * 0x2C1B3C6Du;
  m = (m ^ (m >> 12)) * 0x297A2D39u;
  m ^= m >> 15;
  return vec4(m & 255u, (m >> 8) & 255u, (m >> 16) & 255u, m >> 24) / 255.0;
}

// flakes, each a small mirror with a lean and a place of its own, strewn over cells that lie askew
// to the board and to each other: no row of them shows
float flakes(vec2 mm, vec2 askew, float cell, vec3 h, uint seed) {
  vec2 p = mat2(askew.x, askew.y, -askew.y, askew.x) * mm / cell;
  ivec2 at = ivec2(floor(p));
  vec4 own = scatters(at, seed);
  vec3 n = normalize(vec3((own.xy - 0.5) * 0.55, 1.0));
  vec2 off = fract(p) - 0.5 - 0.5 * (own.zw - 0.5);
  float disc = smoothstep(0.08, 0.02, dot(off, off));
  return disc * pow(max(dot(n, h), 0.0), 420.0);
}

// light on the ground: its slope towards the lamp, the shadow of what stands higher, the sky it sees
float relief(vec2 mm, float z, vec3 l, out vec3 n) {
  float step_mm = max(px, screen);
  vec2 slope = vec2(0.0);
  float dark = 0.0, closed = 0.0;
#ifdef FINE
  slope = vec2(beside(mm, vec2(step_mm, 0.0), z) - beside(mm, vec2(-step_mm, 0.0), z),
               beside(mm, vec2(0.0, step_mm), z) - beside(mm, vec2(0.0, -step_mm), z)) / (2.0 * step_mm);
  const int steps = 9, around = 6;
#else
  slope = vec2(about(mm + vec2(step_mm, 0.0)), about(mm + vec2(0.0, step_mm)));
  slope = (slope - z) / step_mm;
  const int steps = 2, around = 2;
#endif
  n = normalize(vec3(-clamp(slope, -1.6, 1.6), 1.0));
  vec2 run = l.xy / max(l.z, 0.25);
  for (int i = 1; i <= steps; i++) {
    float rise = 3.2 * pow(float(i) / float(steps), 1.6);
    dark = max(dark, (about(mm + run * rise) - z - rise) / 0.55);
  }
  for (int i = 0; i < around; i++) {
    float turn = 6.2832 / float(around) * float(i);
    closed += clamp((about(mm + 1.1 * vec2(cos(turn), sin(turn))) - z) / 2.2, 0.0, 0.6) / float(around);
  }
  float lit = 1.0 + 0.34 * (dot(n, l) / max(l.z, 0.2) - 1.0);
  return lit * (1.0 - 0.5 * clamp(dark, 0.0, 1.0)) * (1.0 - 0.7 * closed);
}

#ifdef EDGED
// whether a place is clear of every edge, and on the same side of them as another
bool free(vec2 mm, vec2 at, vec4 beyond) {
  return beyond.a == 0.0 || (beyond.b > 0.6 * own.a && dot(mm - at + beyond.xy * beyond.b, beyond.xy) >= 0.0);
}
#endif

// what is seen at a place, linear light and how much of it is there; its texels lie at another, clear of the edge
vec4 seen(vec2 mm, vec2 at, bool clear) {
  float there = mix(1.0, texture(inside, at / size).r, trimmed);
  vec3 bare = texture(wood, place).rgb;
  bare *= bare;
  // a finish wets the wood, by the figures of strata/look: a test holds them together
#ifdef FINISHED
  bare = pow(bare, vec3(1.14)) * 1.03;
  float gloss = 0.4;
#else
  float gloss = 0.0;
#endif
  vec3 body = bare;
#ifdef INK
  vec2 spot = (at - from) / span;
#ifdef EDGED
  ivec2 one = texel(at);
  vec4 s = clear ? texelFetch(shine, one, 0) : textureLod(shine, spot, 0.0);
  vec4 c = clear ? texelFetch(colour, one, 0) : textureLod(colour, spot, 0.0);
#else
  vec4 s = texture(shine, spot), c = texture(colour, spot);
#endif
  there *= 1.0 - s.b;
  vec3 resin = c.rgb * c.rgb;
  body = bare * (1.0 - c.a) + resin;
  // cured resin mirrors the lamp softly, clear more so, a finish everywhere a little
  gloss = max(s.a * 0.75 + s.g * 0.4, gloss);
#endif
  vec3 to = vec3(lamp.xy - mm, lamp.z);
  float far = dot(to, to) / (lamp.z * lamp.z);
  vec3 l = normalize(to);
  vec3 h = normalize(l + vec3(0.0, 0.0, 1.0));
#ifdef RELIEF
  vec3 n;
#ifdef EDGED
  float lit = relief(mm, clear ? texelFetch(heights, texel(at), 0).r : about(at), l, n);
#else
  float lit = relief(mm, about(mm), l, n);
#endif
#else
  const vec3 n = vec3(0.0, 0.0, 1.0);
  float lit = 1.0;
#endif
  // a lamp, not a sky: its light falls off across the board
  lit *= mix(1.0, 1.12 / (0.62 + 0.5 * far), 0.55);

  vec3 light = body * lit;
#ifdef FLAKES
  if (s.r > 0.01) {
    // bands of flakes that lie alike turn bright and dull as the lamp goes round
    float lie = cloud(mm / 3.4 + 0.8 * cloud(mm / 5.0, 31u), 32u) - 0.5;
    vec3 band = normalize(vec3(lie * 0.5, lie * 0.3, 1.0));
    float satin = pow(max(dot(band, h), 0.0), 24.0);
    light *= 1.0 + s.r * (0.75 * satin - 0.28);
    float cell = 0.16 * exp2(ceil(log2(max(screen * 1.3 / 0.16, 1.0))));
    // by 37 and 106 degrees
    float flash = 1.6 * flakes(mm, vec2(0.7986, 0.6018), cell, h, 41u)
                + 1.2 * flakes(mm, vec2(-0.2756, 0.9613), cell * 1.7, h, 57u);
    light += s.r * flash * (resin * 2.2 + 0.22) * 1.6;
  }
#endif
#if defined(INK) || defined(FINISHED)
  // farther from the lamp its mirror is less than one step of the screen's 255
  if (gloss > 0.01 && dot(n, h) > 0.96) {
    vec3 ripple = normalize(n + vec3(0.012 * (cloud(mm / 7.0, 71u) - 0.5), 0.012 * (cloud(mm / 7.0, 73u) - 0.5), 0.0));
    light += gloss * 0.16 * pow(max(dot(ripple, h), 0.0), mix(60.0, 420.0, clamp(gloss, 0.0, 1.0)));
  }
#endif
  // what is brighter than this comes ever nearer to white and never burns out
  light = mix(light, 0.8 + 0.2 * (1.0 - exp((0.8 - light) / 0.2)), step(0.8, light));
  return vec4(clamp(light, 0.0, 1.0), smoothstep(0.02, 0.6, there));
}

void main() {
  vec2 mm = place * size;
#ifdef EDGED
  here = mm;
  own = way(mm);
  vec2 at = mm + own.xy * (own.a - own.b);
  vec4 beyond = way(at);
  if (own.a > 0.0 && !free(mm, at, beyond)) {
    // in a corner: as far from its other side as well
    vec2 foot = at - beyond.xy * beyond.b, other = beyond.xy * (dot(mm - foot, beyond.xy) < 0.0 ? -1.0 : 1.0);
    float lean = dot(own.xy, other), far = own.a - own.b, off = own.a - dot(mm - foot, other);
    if (abs(lean) < 0.96) {
      at = mm + (own.xy * (far - lean * off) + other * (off - lean * far)) / (1.0 - lean * lean);
      beyond = way(at);
    }
  }
  // where all is too narrow for that, what lies at the very place is shown
  bool clear = own.a > 0.0 && free(mm, at, beyond);
  // where there is room for it, a mean of four texels: no single one is to be seen
  vec2 wide = mm + own.xy * (1.4 * own.a - own.b);
  bool broad = clear && way(wide).a == 0.0;
  vec4 shown = seen(mm, broad ? wide : clear ? at : mm, clear && !broad);
  // a pixel that an edge goes through shows both of its sides
  if (clear && own.b < 0.5 * screen) {
    vec4 other = seen(mm, mm - own.xy * (own.b + own.a), true);
    shown = mix(other, shown, 0.5 + own.b / screen);
  }
#else
  vec4 shown = seen(mm, mm, false);
#endif
#ifndef LYING
  if (shown.a <= 0.0) discard;
#endif
  vec3 out_srgb = mix(12.92 * shown.rgb, 1.055 * pow(max(shown.rgb, 1e-5), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, shown.rgb));
  ink = vec4(out_srgb * shown.a, shown.a);
}`;

export const SIDE_VERTEX = `#version 300 es
precision highp float; precision highp int;
layout(location = 0) in vec3 at;     // x, y in mm; 0 at the top, 1 at the bottom
uniform mat4 view;
uniform float drop;                  // thickness as shown, mm
out float depth;
void main() { depth = at.z; gl_Position = view * vec4(at.xy, -at.z * drop, 1.0); }`;

export const SIDE_FRAGMENT = `#version 300 es
precision highp float; precision highp int;
in float depth;
out vec4 ink;
uniform vec3 tone;
void main() { ink = vec4(tone * (0.82 - 0.28 * depth), 1.0); }`;
