// The four corners of a sheet of paper, placed on the photograph by a click, a tap or keys. The boxes below are what is sent;
// without this file they are filled in by hand.
(function () {
  "use strict";
  const STEP = 0.1, LONG_STEP = 1, NEARER = 4;
  const room = document.querySelector("[data-corners]"), input = document.getElementById("picture");
  if (!room || !input) return;
  const board = room.querySelector("[data-corner-board]"), img = board.querySelector("img");
  const boxes = [0, 1, 2, 3].map(function (at) {
    return ["across", "down"].map(function (way) { return room.querySelector("[name=corner-" + way + "-" + at + "]"); });
  });
  const SVG = "http://www.w3.org/2000/svg", svg = document.createElementNS(SVG, "svg");
  const lines = ["corner-line-under", "corner-line"].map(function (name) {
    const line = document.createElementNS(SVG, "polygon");
    line.setAttribute("class", name);
    svg.append(line);
    return line;
  });
  svg.setAttribute("viewBox", "0 0 100 100");
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("aria-hidden", "true");
  const loupe = document.createElement("div");
  loupe.className = "corner-loupe";
  loupe.setAttribute("aria-hidden", "true");
  loupe.hidden = true;
  const marks = boxes.map(function (_, at) {
    const mark = quietButton(String(at + 1), chooser(at));
    mark.className = "corner-mark";
    return mark;
  });
  const bar = document.createElement("div"), said = document.createElement("p");
  bar.className = "acts corner-acts";
  said.className = "small corner-said";
  said.setAttribute("role", "status");
  const chooses = boxes.map(function (_, at) { return quietButton("Corner " + (at + 1), chooser(at)); });
  const clear = quietButton("Clear them", cleared), undo = quietButton("Undo", undone);
  bar.append.apply(bar, chooses.concat([clear, undo]));
  board.append.apply(board, [svg].concat(marks, [loupe]));
  board.after(said, bar);
  let chosen = 0, dragged = null, past = [], kept = snapshot();

  function chooser(at) { return function () { chosen = at; draw(); }; }

  // --- What is written in the boxes, and back.
  function place(at) {
    const found = boxes[at].map(function (box) {
      const text = box.value.trim().replace(/\s*%$/, "").replace(",", ".");
      return text !== "" && isFinite(text) ? Number(text) : null;
    });
    return found[0] === null || found[1] === null ? null : found;
  }
  function put(at, across, down) {
    [across, down].forEach(function (value, which) {
      boxes[at][which].value = Math.max(0, Math.min(100, value)).toFixed(2);
    });
    draw();
  }
  function snapshot() { return JSON.stringify(boxes.map(function (pair) { return pair.map(function (box) { return box.value; }); })); }
  function keep() {
    const now = snapshot();
    if (now === kept) return;
    past.push(kept);
    kept = now;
    draw();
  }
  function write(text) {
    JSON.parse(text).forEach(function (pair, at) { pair.forEach(function (value, which) { boxes[at][which].value = value; }); });
  }

  // --- Drawing.
  function draw() {
    const places = boxes.map(function (_, at) { return place(at); }), set = places.filter(Boolean);
    const written = set.map(function (each) { return each.join(","); }).join(" ");
    lines.forEach(function (line) { line.setAttribute("points", written); });
    marks.forEach(function (mark, at) {
      const here = places[at];
      mark.hidden = !here;
      mark.classList.toggle("is-chosen", at === chosen);
      chooses[at].setAttribute("aria-pressed", at === chosen ? "true" : "false");
      if (!here) return;
      mark.style.left = here[0] + "%";
      mark.style.top = here[1] + "%";
      mark.setAttribute("aria-label", "Corner " + (at + 1) + " on the picture: " + told(here));
    });
    const left = 4 - set.length, here = places[chosen];
    said.textContent = here ? "Corner " + (chosen + 1) + ": " + told(here) + (left ? "; " + left + " to go." : ".")
      : "Click or tap corner " + (chosen + 1) + " of the sheet, going round it. Arrow keys move a corner, with Shift farther.";
    undo.disabled = past.length === 0;
    clear.disabled = boxes.every(function (pair) { return pair.every(function (box) { return box.value === ""; }); });
    magnify(here);
  }
  function told(here) { return here[0].toFixed(1) + " % across, " + here[1].toFixed(1) + " % down"; }
  function magnify(here) {
    const busy = dragged !== null || marks.indexOf(document.activeElement) >= 0 || chooses.indexOf(document.activeElement) >= 0;
    loupe.hidden = !here || !busy || !img.width;
    if (loupe.hidden) return;
    const size = loupe.clientWidth / 2;
    loupe.style.backgroundImage = "url(" + img.src + ")";
    loupe.style.backgroundSize = NEARER * img.width + "px " + NEARER * img.height + "px";
    loupe.style.backgroundPosition = ["width", "height"].map(function (side, which) {
      return size - NEARER * img[side] * here[which] / 100 + "px";
    }).join(" ");
    loupe.classList.toggle("is-right", here[0] < 50);
  }

  // --- Placing: a tap on the picture puts the chosen corner there and goes on to the next that is missing.
  board.addEventListener("dragstart", function (event) { event.preventDefault(); });
  function at(event) {
    const area = img.getBoundingClientRect();
    return [100 * (event.clientX - area.left) / area.width, 100 * (event.clientY - area.top) / area.height];
  }
  board.addEventListener("click", function (event) {
    if (marks.indexOf(event.target) >= 0 || board.hidden) return;
    const here = at(event), was = chosen;
    put(was, here[0], here[1]);
    const next = boxes.findIndex(function (_, each) { return !place(each); });
    if (next >= 0) chosen = next;
    keep();
    draw();
  });
  marks.forEach(function (mark, which) {
    mark.addEventListener("pointerdown", function (event) {
      if (!event.isPrimary || event.button !== 0) return;
      event.preventDefault();
      mark.focus({ preventScroll: true });
      const here = at(event), was = place(which);
      chosen = which;
      dragged = { dx: was[0] - here[0], dy: was[1] - here[1] };
      mark.setPointerCapture(event.pointerId);
      draw();
    });
    mark.addEventListener("pointermove", function (event) {
      if (!dragged || chosen !== which) return;
      const here = at(event);
      put(which, here[0] + dragged.dx, here[1] + dragged.dy);
    });
    ["pointerup", "pointercancel"].forEach(function (name) {
      mark.addEventListener(name, function () { if (dragged) { dragged = null; keep(); draw(); } });
    });
  });
  marks.concat(chooses).forEach(function (button, number) {
    const which = number % 4;
    button.addEventListener("focus", chooser(which));
    button.addEventListener("blur", function () { loupe.hidden = true; });
    button.addEventListener("keydown", function (event) {
      const way = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[event.key];
      if (!way || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      const step = event.shiftKey ? LONG_STEP : STEP, here = place(which) || [50, 50];
      put(which, here[0] + way[0] * step, here[1] + way[1] * step);
      keep();
    });
  });
  function empty() {
    boxes.forEach(function (pair) { pair.forEach(function (box) { box.value = ""; }); });
    chosen = 0;
    keep();
  }
  function cleared() {
    empty();
    draw();
  }
  function undone() {
    kept = past.pop();
    write(kept);
    draw();
  }
  room.addEventListener("input", draw);
  room.addEventListener("change", keep);
  room.addEventListener("toggle", draw, true);
  window.addEventListener("resize", draw);
  img.addEventListener("load", draw);

  // --- A picture that has just been chosen is shown at once; corners of the one before it do not hold for it.
  input.addEventListener("change", function () {
    const file = input.files[0];
    if (!file) return;
    const reader = new FileReader();
    reader.addEventListener("load", function () {
      const tried = new Image();
      tried.addEventListener("load", function () { img.src = reader.result; show(true); });
      tried.addEventListener("error", function () { show(false); });
      tried.src = reader.result;
    });
    reader.readAsDataURL(file);
    empty();
  });
  function show(seen) {
    board.hidden = bar.hidden = said.hidden = !seen;
    draw();
  }
  const first = boxes.findIndex(function (_, each) { return !place(each); });
  chosen = Math.max(0, first);
  show(!board.hidden);
})();
