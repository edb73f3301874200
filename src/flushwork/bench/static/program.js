// @ts-check
// A pair of shaders, compiled while other things go on.

export class Program {
  constructor(gl, vertex, fragment) {
    this.gl = gl;
    const made = this.made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(made, shader);
    }
    gl.linkProgram(made);
  }

  // asking waits for the compiler: done when it is first used
  get places() {
    const { gl, made } = this;
    if (this.found) return this.found;
    if (!gl.getProgramParameter(made, gl.LINK_STATUS)) {
      const why = gl.getAttachedShaders(made).map((s) => gl.getShaderInfoLog(s)).join(' ');
      throw new Error(`shader: ${gl.getProgramInfoLog(made)} ${why}`);
    }
    this.found = {};
    const count = gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS);
    for (let i = 0; i < count; i++) {
      const { name } = gl.getActiveUniform(made, i);
      this.found[name] = gl.getUniformLocation(made, name);
    }
    return this.found;
  }
}
