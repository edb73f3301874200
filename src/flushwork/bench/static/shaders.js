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

export const BOARD_FRAGMENT = `#version 300 es
precision highp float; precision highp int; precision highp sampler2D;
in vec2 place;
out vec4 ink;
uniform vec2 size;
uniform float px;         // a texel, mm
uniform float plane;
uniform float screen;     // a pixel of the screen, mm on the board
uniform vec3 lamp;        // mm, above the face
uniform float finished;
uniform float trimmed;
uniform int fine;         // 0 while something moves
uniform sampler2D heights, colour, shine, wood, inside;

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
float top(vec2 mm) { return texture(heights, mm / size).r; }

// one grid of flakes: each a small mirror with a lean of its own
float flakes(vec2 mm, float cell, vec3 h, uint seed) {
  ivec2 at = ivec2(floor(mm / cell));
  vec2 lean = vec2(scatter(at, seed), scatter(at, seed + 1u)) - 0.5;
  vec3 n = normalize(vec3(lean * 0.55, 1.0));
  vec2 off = fract(mm / cell) - 0.5;
  float disc = smoothstep(0.25, 0.08, dot(off, off));
  return disc * pow(max(dot(n, h), 0.0), 420.0);
}

void main() {
  vec2 mm = place * size;
  vec4 s = texture(shine, place);
  float in_trim = texture(inside, place).r;
  float there = (1.0 - s.b) * mix(1.0, in_trim, trimmed);
  if (there < 0.02) discard;
  vec4 c = texture(colour, place);
  vec3 bare = texture(wood, place).rgb;
  bare *= bare;
  vec3 resin = c.rgb * c.rgb;
  // a finish wets the wood: its dark tones deepen
  bare = mix(bare, pow(bare, vec3(1.14)) * 1.03, finished);
  vec3 body = bare * (1.0 - c.a) + resin;

  float step_mm = max(px, screen);
  float z = top(mm);
  vec2 slope = vec2(top(mm + vec2(step_mm, 0.0)) - top(mm - vec2(step_mm, 0.0)),
                    top(mm + vec2(0.0, step_mm)) - top(mm - vec2(0.0, step_mm))) / (2.0 * step_mm);
  slope = clamp(slope, -1.6, 1.6);
  vec3 n = normalize(vec3(-slope, 1.0));
  vec3 to = vec3(lamp.xy - mm, lamp.z);
  float far = length(to) / lamp.z;
  vec3 l = normalize(to);
  vec3 eye = vec3(0.0, 0.0, 1.0);
  vec3 h = normalize(l + eye);

  float lit = 1.0 + 0.34 * (dot(n, l) / max(l.z, 0.2) - 1.0);
  // ground that stands higher towards the lamp throws a shadow; ground around closes off the sky
  vec2 run = l.xy / max(l.z, 0.25);
  float dark = 0.0, closed = 0.0;
  int steps = fine == 1 ? 9 : 3;
  for (int i = 1; i <= 9; i++) {
    if (i > steps) break;
    float rise = 3.2 * pow(float(i) / float(steps), 1.6);
    dark = max(dark, (top(mm + run * rise) - z - rise) / 0.55);
  }
  if (fine == 1) {
    for (int i = 0; i < 6; i++) {
      float turn = 1.0472 * float(i);
      closed += clamp((top(mm + 1.1 * vec2(cos(turn), sin(turn))) - z) / 2.2, 0.0, 0.6) / 6.0;
    }
  } else {
    closed = clamp((plane - z) / 14.0, 0.0, 0.3);
  }
  lit *= (1.0 - 0.5 * clamp(dark, 0.0, 1.0)) * (1.0 - 0.7 * closed);
  // a lamp, not a sky: its light falls off across the board
  lit *= mix(1.0, 1.12 / (0.62 + 0.5 * far * far), 0.55);

  vec3 light = body * lit;
  if (s.r > 0.01) {
    // bands of flakes that lie alike turn bright and dull as the lamp goes round
    float lie = cloud(mm / 3.4 + 0.8 * cloud(mm / 5.0, 31u), 32u) - 0.5;
    vec3 band = normalize(vec3(lie * 0.5, lie * 0.3, 1.0));
    float satin = pow(max(dot(band, h), 0.0), 24.0);
    light *= 1.0 + s.r * (0.75 * satin - 0.28);
    float cell = 0.16 * exp2(ceil(log2(max(screen * 1.3 / 0.16, 1.0))));
    float flash = flakes(mm, cell, h, 41u) + 0.7 * flakes(mm + 0.37, cell * 1.7, h, 57u);
    light += s.r * flash * (resin * 2.2 + 0.22) * 1.6;
  }
  // gloss: cured resin mirrors the lamp softly, clear more so, a finish everywhere a little
  float gloss = max(s.a * 0.75 + s.g * 0.4, finished * 0.4);
  vec3 ripple = normalize(n + vec3(0.012 * (cloud(mm / 7.0, 71u) - 0.5), 0.012 * (cloud(mm / 7.0, 73u) - 0.5), 0.0));
  float glint = pow(max(dot(ripple, h), 0.0), mix(60.0, 420.0, clamp(gloss, 0.0, 1.0)));
  light += gloss * glint * 0.16;
  // sealer and clear deepen what they cover
  light = clamp(light, 0.0, 1.0);
  vec3 out_srgb = mix(12.92 * light, 1.055 * pow(max(light, 1e-5), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, light));
  float edge = smoothstep(0.02, 0.6, there);
  ink = vec4(out_srgb * edge, edge);
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
