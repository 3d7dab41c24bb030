// Turns a form drawn as binary glTF. Where this cannot run, the page's own drawing and links stay as they are.
(() => {
  "use strict";
  const table = document.querySelector(".turntable");
  if (!table) return;
  const canvas = table.querySelector("canvas");
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true });
  if (!gl) return;

  const VERTEX = `attribute vec3 place; attribute vec3 square; attribute vec2 spot;
    uniform mat4 view; uniform mat3 facing; varying vec3 n; varying vec2 at;
    void main() { n = facing * square; at = spot; gl_Position = view * vec4(place, 1.0); }`;
  const FRAGMENT = `precision mediump float; varying vec3 n; varying vec2 at;
    uniform vec3 clay; uniform sampler2D skin; uniform float skinned; uniform float flat_;
    void main() {
      vec3 s = normalize(n);
      float sky = 0.5 + 0.5 * s.y;
      float lit = max(dot(s, normalize(vec3(-0.45, 0.75, 0.6))), 0.0);
      vec3 own = mix(clay, pow(texture2D(skin, at).rgb, vec3(2.2)), skinned);
      float light = 0.30 + 0.35 * sky + 0.75 * lit;
      vec3 c = own * mix(light, min(light, 1.0), flat_);
      gl_FragColor = vec4(pow(min(c, vec3(1.0)), vec3(1.0 / 2.2)), 1.0);
    }`;

  let turn = Number(table.dataset.turn), tip = Number(table.dataset.tip), near = 1, waiting = false;
  let program, parts = [], middle = 0, painted = false;
  const places = {}, spots = [];

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
    // What lies on the skin wins over the skin.
    gl.enable(gl.POLYGON_OFFSET_FILL);
    for (const name of ["place", "square", "spot"]) places[name] = gl.getAttribLocation(program, name);
    for (const name of ["view", "facing", "clay", "skin", "skinned", "flat_"]) places[name] = gl.getUniformLocation(program, name);
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
      if (it.componentType === 5126) return new Float32Array(file, from, it.count * (it.type === "VEC2" ? 2 : 3));
      if (it.componentType === 5123) return new Uint16Array(file, from, it.count);
      if (!wide) throw new Error("too many points for this screen");
      return new Uint32Array(file, from, it.count);
    };
    const highest = Math.max(...says.meshes.flatMap((mesh) => mesh.primitives.map((it) => says.accessors[it.attributes.POSITION].max[1])));
    middle = highest / 2;
    parts = says.meshes.flatMap((mesh, number) => mesh.primitives.map((it) => {
      const faces = array(it.indices), look = says.materials[it.material], base = look.pbrMetallicRoughness;
      return {
        place: filled(gl.ARRAY_BUFFER, array(it.attributes.POSITION)),
        square: filled(gl.ARRAY_BUFFER, array(it.attributes.NORMAL)),
        spot: it.attributes.TEXCOORD_0 === undefined ? null : filled(gl.ARRAY_BUFFER, array(it.attributes.TEXCOORD_0)),
        clay: (base.baseColorFactor || [1, 1, 1]).slice(0, 3),
        skinned: base.baseColorTexture ? 1 : 0,
        over: Boolean(look.doubleSided),
        // What is joined to the body may stand before a number on it.
        before: number && !look.doubleSided ? { points: array(it.attributes.POSITION), corners: faces } : null,
        faces: filled(gl.ELEMENT_ARRAY_BUFFER, faces),
        count: faces.length,
        kind: faces instanceof Uint16Array ? gl.UNSIGNED_SHORT : gl.UNSIGNED_INT,
      };
    }));
    painted = parts.some((part) => part.skinned);
    if (!painted) return null;
    const it = says.bufferViews[says.images[0].bufferView];
    return createImageBitmap(new Blob([new Uint8Array(file, start + it.byteOffset, it.byteLength)], { type: says.images[0].mimeType }));
  }

  // A picture of one dot stands in where there is none: a program must have something to look up.
  function covered(image) {
    gl.bindTexture(gl.TEXTURE_2D, gl.createTexture());
    const most = gl.getParameter(gl.MAX_TEXTURE_SIZE);
    if (image && Math.max(image.width, image.height) > most) throw new Error("the picture is too large for this screen");
    if (image) gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGB, gl.RGB, gl.UNSIGNED_BYTE, image);
    else gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGB, 1, 1, 0, gl.RGB, gl.UNSIGNED_BYTE, new Uint8Array([255, 255, 255]));
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
    if (image) gl.generateMipmap(gl.TEXTURE_2D);
    else gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
  }

  // The zones' numbers, each where it stands on the piece while that side is turned to the eye.
  function numbered() {
    const room = table.querySelector(".spots");
    for (const [number, ...where] of room ? JSON.parse(room.dataset.spots) : []) {
      const word = document.createElement("span");
      word.textContent = number;
      room.append(word);
      spots.push({ word, place: where.slice(0, 3), square: where.slice(3) });
    }
    if (room) room.hidden = false;
  }

  function seenAt(view, x, y, z) {
    const w = view[3] * x + view[7] * y + view[11] * z + view[15];
    return [0, 1, 2].map((row) => (view[row] * x + view[4 + row] * y + view[8 + row] * z + view[12 + row]) / w);
  }

  function placeSpots(view, m) {
    const before = spots.length ? parts.filter((part) => part.before).map(({ before: { points, corners } }) => {
      const seen = new Float32Array(points.length);
      for (let at = 0; at < points.length; at += 3) seen.set(seenAt(view, points[at], points[at + 1], points[at + 2]), at);
      return { seen, corners };
    }) : [];
    for (const { word, place, square: q } of spots) {
      const at = seenAt(view, ...place);
      word.hidden = m[2] * q[0] + m[5] * q[1] + m[8] * q[2] < 0.35 || before.some((part) => covers(part, at));
      word.style.left = `${50 + 50 * at[0]}%`;
      word.style.top = `${50 - 50 * at[1]}%`;
    }
  }

  // Whether a face of a part lies between the eye and a place.
  function covers({ seen, corners }, [x, y, z]) {
    for (let face = 0; face < corners.length; face += 3) {
      const a = 3 * corners[face], b = 3 * corners[face + 1], c = 3 * corners[face + 2];
      const bx = seen[b] - seen[a], by = seen[b + 1] - seen[a + 1], cx = seen[c] - seen[a], cy = seen[c + 1] - seen[a + 1];
      const area = bx * cy - cx * by;
      if (area <= 0) continue;
      const px = x - seen[a], py = y - seen[a + 1];
      const u = (px * cy - cx * py) / area, v = (bx * py - px * by) / area;
      if (u < 0 || v < 0 || u + v > 1) continue;
      if (seen[a + 2] + u * (seen[b + 2] - seen[a + 2]) + v * (seen[c + 2] - seen[a + 2]) < z) return true;
    }
    return false;
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
    gl.uniformMatrix4fv(places.view, false, view);
    gl.uniformMatrix3fv(places.facing, false, new Float32Array(m));
    gl.uniform1f(places.flat_, painted ? 1 : 0);
    for (const part of parts) {
      gl.polygonOffset(part.over ? -1 : 1, part.over ? -1 : 1);
      gl.uniform3fv(places.clay, part.clay);
      gl.uniform1f(places.skinned, part.skinned);
      for (const name of ["place", "square", "spot"]) {
        if (!part[name]) { gl.disableVertexAttribArray(places[name]); continue; }
        gl.bindBuffer(gl.ARRAY_BUFFER, part[name]);
        gl.enableVertexAttribArray(places[name]);
        gl.vertexAttribPointer(places[name], name === "spot" ? 2 : 3, gl.FLOAT, false, 0, 0);
      }
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, part.faces);
      gl.drawElements(gl.TRIANGLES, part.count, part.kind, 0);
    }
    placeSpots(view, m);
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

  function stopped() {
    canvas.hidden = true;
    table.querySelector(".still").hidden = false;
    const room = table.querySelector(".spots");
    if (room) room.hidden = true;
  }

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
      stopped();
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
    .then(async (file) => { prepared(); covered(await read(file)); numbered(); ready(); })
    .catch(stopped);
})();
