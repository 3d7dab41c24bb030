// Arranging a load: pieces are dragged, stepped, turned and taken from shelf to shelf, the boxes follow, and what stands in
// the way is told at once. The measure is the server's: each piece a row of discs, each shelf a floor; the server has the
// last word, and the page works without this file.
(function () {
  "use strict";
  const told = document.getElementById("measures");
  const form = document.querySelector("form.arrange");
  if (!told || !form) return;
  const load = JSON.parse(told.textContent), OFF = -1;
  const svgs = Array.from(form.querySelectorAll("svg[data-shelf]"));
  const holder = form.querySelector("svg.loose-pieces");
  const bar = form.querySelector("[data-piece-bar]");
  const by = bar.querySelector("[data-by]"), to = bar.querySelector("[data-to]");
  let chosen = null;
  const done = [], undone = [];

  document.querySelectorAll(".with-script").forEach(function (each) { each.hidden = false; });
  bar.hidden = false;
  svgs.forEach(function (svg) { svg.classList.add("can-move"); svg.setAttribute("role", "group"); });

  // Every piece: its measures, its group in the drawing, its boxes, and where it stands.
  const pieces = load.pieces.map(function (measure) {
    const key = measure.key;
    function box(what) { return form.elements.namedItem(what + "-" + key); }
    const piece = { measure: measure, box: box, group: form.querySelector('[data-piece="' + key + '"]') };
    piece.at = read(piece);
    return piece;
  });

  function number(text) { return Number(text.replace(",", ".").replace("\u2212", "-")) || 0; }
  function read(piece) {
    return { shelf: Number(piece.box("s").value), x: number(piece.box("x").value), y: number(piece.box("y").value), a: number(piece.box("a").value) };
  }
  function tenth(value) { return Math.round(value * 10) / 10; }

  function draw(piece) {
    const at = piece.at, home = at.shelf >= 0 ? svgs[at.shelf] : holder;
    if (piece.group.parentNode !== home) home.appendChild(piece.group);
    piece.group.setAttribute("transform", "translate(" + at.x + " " + -at.y + ")");
    piece.group.querySelector(".turned").setAttribute("transform", "rotate(" + -at.a + ")");
  }
  function put(piece, at) {
    piece.at = { shelf: at.shelf, x: tenth(at.x), y: tenth(at.y), a: ((at.a % 360) + 360) % 360 };
    piece.box("s").value = String(piece.at.shelf);
    piece.box("x").value = piece.at.x.toFixed(1);
    piece.box("y").value = piece.at.y.toFixed(1);
    piece.box("a").value = piece.at.a.toFixed(1);
    draw(piece);
  }
  function kept(piece) { piece.box("x").dispatchEvent(new Event("input", { bubbles: true })); }

  // One change that can be taken back: what a piece was before, and after.
  function changed(piece, before) {
    const after = Object.assign({}, piece.at);
    if (JSON.stringify(before) === JSON.stringify(after)) return;
    done.push([piece, before, after]);
    undone.length = 0;
    all(piece);
    kept(piece);
  }
  function again(from, onto, which) {
    const last = from.pop();
    if (!last) return;
    onto.push(last);
    put(last[0], last[which]);
    choose(last[0]);
    all(last[0]);
    kept(last[0]);
  }

  function discs(piece, at) {
    const turn = at.a * Math.PI / 180;
    return piece.measure.out.map(function (out, k) {
      return [at.x + out * Math.cos(turn), at.y + out * Math.sin(turn), piece.measure.radius[k]];
    });
  }
  function overEdge(shelf, disc) {
    let over = shelf.radius === null ? -Infinity : Math.hypot(disc[0], disc[1]) - shelf.radius + disc[2];
    shelf.sides.forEach(function (side) { over = Math.max(over, side[0] * disc[0] + side[1] * disc[1] - side[2] + disc[2]); });
    return over;
  }
  function between(own, other) {
    let room = Infinity;
    own.forEach(function (a) { other.forEach(function (b) { room = Math.min(room, Math.hypot(a[0] - b[0], a[1] - b[1]) - a[2] - b[2]); }); });
    return room;
  }
  function fromKeep(own, keep) {
    return Math.min.apply(null, own.map(function (d) { return Math.hypot(d[0] - keep[0], d[1] - keep[1]) - d[2]; })) - keep[2];
  }
  function fromWall(wall) { return wall > 0 ? ", " + wall.toFixed(0) + " mm from wall and elements" : ", into the wall and its elements"; }
  function near(found, piece, other, room, wanted) {
    if (room >= wanted - load.tolerance) return;
    const name = piece.measure.name;
    if (room < -load.tolerance) found.push([piece, name + " stands " + (-room).toFixed(0) + " mm in " + other, true]);
    else found.push([piece, name + " is " + Math.max(room, 0).toFixed(1) + " mm from " + other + "; " + wanted + " mm is kept", false]);
  }
  function on(at) { return pieces.filter(function (each) { return each.at.shelf === at; }); }

  // What is wrong on one shelf, in the server's words and order.
  function faultsOn(at) {
    const shelf = load.shelves[at], here = on(at), found = [];
    const every = here.map(function (piece) { return discs(piece, piece.at); });
    here.forEach(function (piece, i) {
      const own = every[i], name = piece.measure.name, height = piece.measure.height;
      const over = Math.max.apply(null, own.map(function (disc) { return overEdge(shelf, disc); })), wall = load.wall - over;
      if (over > load.tolerance) found.push([piece, name + " reaches " + over.toFixed(0) + " mm over the edge of the shelf" + fromWall(wall), true]);
      else if (over + load.edge > load.tolerance) found.push([piece, name + " is " + (-over).toFixed(0) + " mm from the edge" + fromWall(wall) + "; " + load.wallGap.toFixed(0) + " mm is kept", false]);
      if (height > shelf.room + load.tolerance) found.push([piece, name + " is " + (height - shelf.room).toFixed(0) + " mm taller than the room over its shelf", true]);
      else if (height + load.topGap > shelf.room + load.tolerance) found.push([piece, name + " has " + (shelf.room - height).toFixed(0) + " mm over it; " + load.topGap.toFixed(0) + " mm is kept", false]);
      shelf.keepOuts.forEach(function (keep) { near(found, piece, keep[4], fromKeep(own, keep), keep[3]); });
      for (let j = 0; j < i; j++) near(found, piece, here[j].measure.name, between(own, every[j]), load.gap);
    });
    return found;
  }
  function check(at) {
    const found = faultsOn(at), list = form.querySelector('[data-faults="' + at + '"]');
    on(at).forEach(function (piece) {
      const own = found.filter(function (fault) { return fault[0] === piece; });
      const hard = own.some(function (fault) { return fault[2]; });
      piece.group.classList.toggle("touching", hard);
      piece.group.classList.toggle("near", own.length > 0 && !hard);
    });
    list.replaceChildren.apply(list, found.map(function (fault) {
      const line = document.createElement("li"), lead = document.createElement("strong");
      if (fault[2]) line.className = "wrong";
      lead.textContent = fault[2] ? "Cannot stand so:" : "Near:";
      line.append(document.getElementById(fault[2] ? "hard-sign" : "near-sign").content.cloneNode(true), " ", lead, " " + fault[1]);
      return line;
    }));
    const counts = {};
    on(at).forEach(function (piece) {
      const many = (piece.group.querySelector("text").textContent.match(/\u00d7(\d+)$/) || [0, 1])[1];
      counts[piece.measure.form] = (counts[piece.measure.form] || 0) + Number(many);
    });
    const words = Object.keys(counts).map(function (name) { return counts[name] + " \u00d7 " + name; }).join(", ");
    form.querySelector('[data-counts="' + at + '"]').textContent = words || "Empty";
  }
  function all(piece) {
    load.shelves.forEach(function (_, at) { check(at); });
    showLoose();
    showChosen();
    bar.querySelector("[data-back]").disabled = done.length === 0;
    bar.querySelector("[data-forth]").disabled = undone.length === 0;
    if (piece && piece === chosen) to.value = String(piece.at.shelf);
  }

  function showLoose() {
    const list = form.querySelector("[data-loose-list]"), loose = on(OFF);
    form.querySelector("[data-loose-none]").hidden = loose.length > 0;
    list.replaceChildren.apply(list, loose.map(function (piece) {
      const line = document.createElement("li"), button = document.createElement("button");
      button.type = "button";
      button.className = "quiet";
      button.textContent = piece.measure.name + " " + piece.measure.form;
      button.setAttribute("aria-pressed", String(piece === chosen));
      button.addEventListener("click", function () { choose(piece); });
      line.append(button);
      return line;
    }));
  }
  function showChosen() {
    const distances = bar.querySelector("[data-distances]");
    bar.querySelectorAll(".piece-acts button[data-step], .piece-acts select").forEach(function (each) {
      each.disabled = chosen === null || (each.dataset.step !== undefined && (chosen.at.shelf === OFF || (/^0,0/.test(each.dataset.step) && !chosen.measure.handle)));
    });
    if (chosen === null) return;
    bar.querySelector("[data-chosen]").textContent = chosen.measure.name + " " + chosen.measure.form;
    if (chosen.at.shelf === OFF) { distances.textContent = "not loaded"; return; }
    const shelf = load.shelves[chosen.at.shelf], own = discs(chosen, chosen.at), parts = [];
    const wall = load.wall - Math.max.apply(null, own.map(function (disc) { return overEdge(shelf, disc); }));
    let nearest = null;
    on(chosen.at.shelf).forEach(function (other) {
      if (other === chosen) return;
      const room = between(own, discs(other, other.at));
      if (nearest === null || room < nearest[0]) nearest = [room, other.measure.name];
    });
    if (nearest) parts.push(Math.max(nearest[0], 0).toFixed(0) + " mm to " + nearest[1]);
    parts.push(Math.max(wall, 0).toFixed(0) + " mm to wall and elements");
    shelf.keepOuts.forEach(function (keep) { if (keep[4] === "the thermocouple") parts.push(Math.max(fromKeep(own, keep), 0).toFixed(0) + " mm to the thermocouple"); });
    parts.push((shelf.room - chosen.measure.height).toFixed(0) + " mm over it");
    distances.textContent = parts.join("; ");
  }
  function choose(piece) {
    chosen = piece;
    pieces.forEach(function (each) { each.group.classList.toggle("chosen", each === piece); });
    to.value = String(piece.at.shelf);
    showLoose();
    showChosen();
  }

  // The first free place on another shelf, from the back, every 6 mm; where there is none, the middle.
  function freePlace(piece, at) {
    const shelf = load.shelves[at], others = on(at).filter(function (each) { return each !== piece; }).map(function (each) { return discs(each, each.at); });
    for (let turn = 0; turn < (piece.measure.handle ? 24 : 1); turn++) {
      for (let y = shelf.box[3]; y > shelf.box[1]; y -= 6) for (let x = shelf.box[0]; x < shelf.box[2]; x += 6) {
        const place = { shelf: at, x: x, y: y, a: 15 * turn }, own = discs(piece, place);
        const clear = own.every(function (disc) { return overEdge(shelf, disc) + load.edge <= 0; }) &&
          shelf.keepOuts.every(function (keep) { return fromKeep(own, keep) >= keep[3]; }) &&
          others.every(function (other) { return between(own, other) >= load.gap; });
        if (clear) return place;
      }
    }
    return { shelf: at, x: 0, y: 0, a: piece.at.a };
  }

  function inShelf(svg, event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [point.x, -point.y];
  }
  function under(event) {
    const there = document.elementFromPoint(event.clientX, event.clientY);
    const svg = there && there.closest("svg[data-shelf]");
    return svg && form.contains(svg) ? svg : there && there.closest("[data-loose]") ? OFF : null;
  }

  pieces.forEach(function (piece) {
    const group = piece.group;
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.setAttribute("aria-label", piece.measure.name + ", " + piece.measure.form + ": arrow keys move it");
    let grip = null;
    group.addEventListener("pointerdown", function (event) {
      const at = inShelf(svgs[piece.at.shelf], event);
      grip = { dx: piece.at.x - at[0], dy: piece.at.y - at[1], before: Object.assign({}, piece.at) };
      group.classList.add("held");
      event.preventDefault();
      choose(piece);
      group.focus({ preventScroll: true });
      document.addEventListener("pointermove", move);
      document.addEventListener("pointerup", end);
      document.addEventListener("pointercancel", end);
    });
    // Listened for on the page: a piece that goes over to another drawing would lose the pointer.
    function move(event) {
      const over = under(event);
      const svg = over instanceof Element ? over : piece.at.shelf >= 0 ? svgs[piece.at.shelf] : null;
      if (!svg) return;
      const at = inShelf(svg, event);
      grip.off = over === OFF;
      put(piece, { shelf: svgs.indexOf(svg), x: at[0] + grip.dx, y: at[1] + grip.dy, a: piece.at.a });
      all(piece);
    }
    function end() {
      document.removeEventListener("pointermove", move);
      document.removeEventListener("pointerup", end);
      document.removeEventListener("pointercancel", end);
      group.classList.remove("held");
      if (grip.off) put(piece, { shelf: OFF, x: grip.before.x, y: grip.before.y, a: grip.before.a });
      const before = grip.before;
      grip = null;
      changed(piece, before);
    }
    group.addEventListener("focus", function () { choose(piece); });
    group.addEventListener("keydown", function (event) {
      const step = event.shiftKey ? 10 : 1;
      const way = { ArrowRight: [step, 0, 0], ArrowLeft: [-step, 0, 0], ArrowUp: [0, step, 0], ArrowDown: [0, -step, 0], ",": [0, 0, 5], ".": [0, 0, -5] }[event.key];
      if (!way) return;
      event.preventDefault();
      step_(piece, way);
    });
    ["s", "x", "y", "a"].forEach(function (what) {
      piece.box(what).addEventListener(what === "s" ? "change" : "input", function (event) {
        if (!event.isTrusted) return;
        const before = piece.at, now = read(piece);
        if (now.shelf === -2) return;
        if (what === "s") put(piece, now.shelf >= 0 ? freePlace(piece, now.shelf) : now);
        else piece.at = now;
        draw(piece);
        done.push([piece, before, Object.assign({}, piece.at)]);
        undone.length = 0;
        all(piece);
      });
    });
  });

  function step_(piece, way) {
    const before = Object.assign({}, piece.at);
    put(piece, { shelf: before.shelf, x: before.x + way[0], y: before.y + way[1], a: before.a + way[2] });
    changed(piece, before);
  }
  bar.querySelectorAll("[data-step]").forEach(function (button) {
    button.addEventListener("click", function () {
      if (chosen === null || chosen.at.shelf === OFF) return;
      const way = button.dataset.step.split(",").map(Number), far = Number(by.value);
      step_(chosen, [way[0] * far, way[1] * far, way[2]]);
    });
  });
  to.addEventListener("change", function () {
    if (chosen === null) return;
    const at = Number(to.value), before = Object.assign({}, chosen.at);
    if (at === before.shelf) return;
    put(chosen, at === OFF ? { shelf: OFF, x: before.x, y: before.y, a: before.a } : freePlace(chosen, at));
    changed(chosen, before);
  });
  bar.querySelector("[data-back]").addEventListener("click", function () { again(done, undone, 1); });
  bar.querySelector("[data-forth]").addEventListener("click", function () { again(undone, done, 2); });
  all(null);
})();
