// @ts-check
// Where the eye is: the middle of what is seen, how close, how far tilted.

export class Camera {
  constructor() {
    this.x = 0; this.y = 0;         // mm on the board, in the middle of the picture
    this.scale = 1;                 // pixels of the picture per mm
    this.lean = 0;                  // tilt away from the eye, radians
    this.spin = 0;                  // turned in its plane, radians
    this.flip = 1;                  // 1 lies open, 0 stands on edge while being flipped
    this.flipX = true;              // turned about its length
    this.width = 1; this.height = 1;
  }

  // all of it in sight, above what is written along the lower edge
  fit(bounds, low = 0) {
    const margin = this.lean ? 0.8 : 0.94;
    this.scale = margin * Math.min(this.width / (bounds[2] - bounds[0]), Math.max(1, this.height - low) / (bounds[3] - bounds[1]));
    this.x = (bounds[0] + bounds[2]) / 2;
    this.y = (bounds[1] + bounds[3]) / 2 - low / 2 / this.scale;
  }

  // column-major, orthographic: the board turns about the middle of what is seen
  matrix(depth) {
    const [c, s] = [Math.cos(this.spin), Math.sin(this.spin)];
    const [cl, sl] = [Math.cos(this.lean), Math.sin(this.lean)];
    const fx = this.flipX ? 1 : this.flip, fy = this.flipX ? this.flip : 1;
    const kx = 2 * this.scale / this.width, ky = 2 * this.scale / this.height, kz = -1 / depth;
    const ax = [c * fx, -s * fy, 0], ay = [s * fx, c * fy, 0];
    const row0 = [kx * ax[0], kx * ax[1], 0];
    const row1 = [ky * cl * ay[0], ky * cl * ay[1], ky * sl];
    const row2 = [kz * -sl * ay[0], kz * -sl * ay[1], kz * cl];
    const shift = (r) => -(r[0] * this.x + r[1] * this.y);
    return new Float32Array([
      row0[0], row1[0], row2[0], 0, row0[1], row1[1], row2[1], 0,
      row0[2], row1[2], row2[2], 0, shift(row0), shift(row1), shift(row2), 1,
    ]);
  }

  /** @param {number} x
   * @param {number} y
   * @returns {[number, number]} */
  toScreen(x, y, z = 0) {
    const m = this.matrix(1000);
    return [
      (m[0] * x + m[4] * y + m[8] * z + m[12] + 1) / 2 * this.width,
      (1 - (m[1] * x + m[5] * y + m[9] * z + m[13])) / 2 * this.height,
    ];
  }

  // the place on the plane of the face under a point of the picture
  /** @param {number} px
   * @param {number} py
   * @returns {[number, number]} */
  toBoard(px, py) {
    const m = this.matrix(1000);
    const a = px / this.width * 2 - 1 - m[12], b = 1 - py / this.height * 2 - m[13];
    const det = m[0] * m[5] - m[4] * m[1];
    return [(a * m[5] - m[4] * b) / det, (m[0] * b - a * m[1]) / det];
  }

  zoom(factor, px = this.width / 2, py = this.height / 2) {
    const [x0, y0] = this.toBoard(px, py);
    this.scale = Math.min(400, Math.max(0.2, this.scale * factor));
    const [x1, y1] = this.toBoard(px, py);
    this.x += x0 - x1; this.y += y0 - y1;
  }

  pan(dx, dy) {
    const [x0, y0] = this.toBoard(0, 0), [x1, y1] = this.toBoard(dx, dy);
    this.x -= x1 - x0; this.y -= y1 - y0;
  }
}
