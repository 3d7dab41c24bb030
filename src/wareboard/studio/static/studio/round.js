// Turns a form drawn as binary glTF. Where this cannot run, the page's own drawing and links stay as they are.
(() => {
  "use strict";
  const table = document.querySelector(".turntable");
  if (!table) return;
  const canvas = table.querySelector("canvas");
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true, premultipliedAlpha: false });
  if (!gl) return;

  const VERTEX = `attribute vec3 place; attribute vec3 square; uniform mat4 view; uniform mat3 facing; varying vec3 n;
    void main() { n = facing * square; gl_Position = view * vec4(place, 1.0); }`;
  const FRAGMENT = `precision mediump float; varying vec3 n; uniform vec3 clay;
    void main() {
      vec3 s = normalize(n);
      float sky = 0.5 + 0.5 * s.y;
      float lit = max(dot(s, normalize(vec3(-0.45, 0.75, 0.6))), 0.0);
      vec3 c = clay * (0.30 + 0.35 * sky + 0.75 * lit);
      gl_FragColor = vec4(pow(min(c, vec3(1.0)), vec3(1.0 / 2.2)), 1.0);
    }`;

  let turn = Number(table.dataset.turn), tip = Number(table.dataset.tip), near = 1, waiting = false;
  let program, parts = [], clay = [0.4, 0.3, 0.2], middle = 0;

  function compiled(kind, text) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
    return shader;
  }

  function prepared() {
    program = gl.createProgram();
    gl.attachShader(program, compiled(gl.VERTEX_SHADER, VERTEX));
    gl.attachShader(program, compiled(gl.FRAGMENT_SHADER, FRAGMENT));
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error("the drawing program does not link");
    gl.useProgram(program);
    gl.enable(gl.DEPTH_TEST);
  }

  function filled(target, array) {
    const buffer = gl.createBuffer();
    gl.bindBuffer(target, buffer);
    gl.bufferData(target, array, gl.STATIC_DRAW);
    return buffer;
  }

  function read(file) {
    const view = new DataView(file);
    if (view.getUint32(0, true) !== 0x46546c67) throw new Error("no binary glTF");
    const long = view.getUint32(12, true);
    const says = JSON.parse(new TextDecoder().decode(new Uint8Array(file, 20, long)));
    const start = 28 + long;
    const wide = gl.getExtension("OES_element_index_uint");
    const array = (index) => {
      const it = says.accessors[index], from = start + says.bufferViews[it.bufferView].byteOffset;
      if (it.componentType === 5126) return new Float32Array(file, from, it.count * 3);
      if (it.componentType === 5123) return new Uint16Array(file, from, it.count);
      if (!wide) throw new Error("too many points for this screen");
      return new Uint32Array(file, from, it.count);
    };
    clay = says.materials[0].pbrMetallicRoughness.baseColorFactor.slice(0, 3);
    const highest = Math.max(...says.meshes.map((mesh) => says.accessors[mesh.primitives[0].attributes.POSITION].max[1]));
    middle = highest / 2;
    parts = says.meshes.map((mesh) => {
      const it = mesh.primitives[0], faces = array(it.indices);
      return {
        place: filled(gl.ARRAY_BUFFER, array(it.attributes.POSITION)),
        square: filled(gl.ARRAY_BUFFER, array(it.attributes.NORMAL)),
        faces: filled(gl.ELEMENT_ARRAY_BUFFER, faces),
        count: faces.length,
        kind: faces instanceof Uint16Array ? gl.UNSIGNED_SHORT : gl.UNSIGNED_INT,
      };
    });
  }

  function draw() {
    waiting = false;
    const side = Math.round(canvas.clientWidth * Math.min(2, window.devicePixelRatio || 1));
    if (canvas.width !== side) canvas.width = canvas.height = side;
    gl.viewport(0, 0, side, side);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const a = (turn * Math.PI) / 180, b = (tip * Math.PI) / 180;
    const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
    // The piece turned about its own axis, then tipped towards the eye; in columns.
    const m = [ca, sa * sb, -sa * cb, 0, cb, sb, sa, -ca * sb, ca * cb];
    const s = (2 * near) / Number(table.dataset.wide), eye = 5;
    const view = new Float32Array(16);
    for (let column = 0; column < 4; column++) {
      const at = column < 3 ? [m[column * 3] * s, m[column * 3 + 1] * s, m[column * 3 + 2] * s]
        : [-middle * m[3] * s, -middle * m[4] * s, -middle * m[5] * s];
      const w = -at[2] / eye + (column === 3 ? 1 : 0);
      view.set([at[0], at[1], -at[2] / 4, w], column * 4);
    }
    gl.uniformMatrix4fv(gl.getUniformLocation(program, "view"), false, view);
    gl.uniformMatrix3fv(gl.getUniformLocation(program, "facing"), false, new Float32Array(m));
    gl.uniform3fv(gl.getUniformLocation(program, "clay"), clay);
    for (const part of parts) {
      for (const name of ["place", "square"]) {
        const at = gl.getAttribLocation(program, name);
        gl.bindBuffer(gl.ARRAY_BUFFER, part[name]);
        gl.enableVertexAttribArray(at);
        gl.vertexAttribPointer(at, 3, gl.FLOAT, false, 0, 0);
      }
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, part.faces);
      gl.drawElements(gl.TRIANGLES, part.count, part.kind, 0);
    }
    Object.assign(table.dataset, { turn: Math.round(turn), tip: Math.round(tip), near: near.toFixed(2) });
  }

  function move(turned, tipped, nearer = 1) {
    turn = (turn + turned + 360) % 360;
    tip = Math.max(-85, Math.min(85, tip + tipped));
    near = Math.max(0.5, Math.min(4, near * nearer));
    if (!waiting) { waiting = true; requestAnimationFrame(draw); }
  }

  const KEYS = { ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, 10], ArrowDown: [0, -10], "+": [0, 0, 1.15], "=": [0, 0, 1.15], "-": [0, 0, 1 / 1.15] };
  const MOVES = { left: [-30, 0], right: [30, 0], over: [0, 20], under: [0, -20] };

  function ready() {
    table.querySelector(".still").hidden = true;
    canvas.hidden = false;
    canvas.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || !KEYS[event.key]) return;
      event.preventDefault();
      move(...KEYS[event.key]);
    });
    let last = null;
    canvas.addEventListener("pointerdown", (event) => { last = event; canvas.setPointerCapture(event.pointerId); });
    canvas.addEventListener("pointermove", (event) => {
      if (!last || last.pointerId !== event.pointerId) return;
      move((event.clientX - last.clientX) * 0.6, event.pointerType === "touch" ? 0 : (event.clientY - last.clientY) * 0.5);
      last = event;
    });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { last = null; });
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      canvas.hidden = true;
      table.querySelector(".still").hidden = false;
    });
    for (const link of document.querySelectorAll("[data-move]")) {
      link.addEventListener("click", (event) => {
        if (canvas.hidden) return;
        event.preventDefault();
        move(...MOVES[link.dataset.move]);
      });
    }
    window.addEventListener("resize", () => move(0, 0));
    draw();
  }

  fetch(table.dataset.model)
    .then((answer) => { if (!answer.ok) throw new Error("no model"); return answer.arrayBuffer(); })
    .then((file) => { prepared(); read(file); ready(); })
    .catch(() => { canvas.hidden = true; table.querySelector(".still").hidden = false; });
})();
