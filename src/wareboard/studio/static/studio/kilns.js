// Only comforts for the kiln pages: every page works without this file.
(function () {
  "use strict";

  // Enter in a segment's box works out the segments as written, and does not solve for the cone over them.
  document.querySelectorAll(".segments input").forEach(function (box) {
    box.addEventListener("keydown", function (event) {
      if (event.key !== "Enter") return;
      event.preventDefault();
      box.form.requestSubmit(box.form.querySelector('button[value="hand"]'));
    });
  });

  // Arranging a load: pieces are dragged or stepped, the boxes follow, and what stands in the way is told at once. The
  // measure is the server's: each piece a row of discs, each shelf a floor, and the server has the last word.
  const told = document.getElementById("measures");
  const form = document.querySelector("form.arrange");
  if (!told || !form) return;
  const shelves = JSON.parse(told.textContent);

  form.querySelectorAll("svg[data-shelf]").forEach(function (svg) {
    const at = Number(svg.dataset.shelf), shelf = shelves[at];
    const list = form.querySelector('[data-faults="' + at + '"]');
    const pieces = Array.from(svg.querySelectorAll("[data-piece]"));
    const places = pieces.map(function (_, i) { return read(i); });
    svg.classList.add("can-move");
    svg.setAttribute("role", "group");

    function box(what, i) { return form.elements.namedItem(what + "-" + at + "-" + i); }
    function read(i) {
      return ["x", "y", "a"].map(function (what) { return Number(box(what, i).value.replace(",", ".").replace("\u2212", "-")) || 0; });
    }
    function draw(i) {
      const place = places[i];
      pieces[i].setAttribute("transform", "translate(" + place[0] + " " + -place[1] + ")");
      pieces[i].querySelector(".turned").setAttribute("transform", "rotate(" + -place[2] + ")");
    }
    function put(i, x, y, angle) {
      places[i] = [Math.round(x * 10) / 10, Math.round(y * 10) / 10, ((angle % 360) + 360) % 360];
      ["x", "y", "a"].forEach(function (what, k) { box(what, i).value = places[i][k].toFixed(1); });
      draw(i);
      check();
    }
    function kept(i) { box("x", i).dispatchEvent(new Event("input", { bubbles: true })); }

    function discs(i) {
      const place = places[i], turn = place[2] * Math.PI / 180, piece = shelf.pieces[i];
      return piece.out.map(function (out, k) {
        return [place[0] + out * Math.cos(turn), place[1] + out * Math.sin(turn), piece.radius[k]];
      });
    }
    function overEdge(disc) {
      let over = shelf.radius === null ? -Infinity : Math.hypot(disc[0], disc[1]) - shelf.radius + disc[2];
      shelf.sides.forEach(function (side) { over = Math.max(over, side[0] * disc[0] + side[1] * disc[1] - side[2] + disc[2]); });
      return over;
    }
    function near(found, i, other, room, wanted) {
      if (room >= wanted - shelf.tolerance) return;
      const name = shelf.pieces[i].name;
      if (room < -shelf.tolerance) found.push([i, name + " stands in " + other, true]);
      else found.push([i, name + " is " + Math.max(room, 0).toFixed(1) + " mm from " + other + "; " + wanted + " mm is kept", false]);
    }
    function check() {
      const found = [], all = pieces.map(function (_, i) { return discs(i); });
      all.forEach(function (own, i) {
        const over = Math.max.apply(null, own.map(overEdge)), name = shelf.pieces[i].name;
        if (over > shelf.tolerance) found.push([i, name + " reaches " + over.toFixed(0) + " mm over the edge of the shelf", true]);
        else if (over + shelf.edge > shelf.tolerance) found.push([i, name + " is " + (-over).toFixed(0) + " mm from the edge; " + shelf.edge + " mm is kept", false]);
        shelf.keepOuts.forEach(function (keep) {
          const room = Math.min.apply(null, own.map(function (d) { return Math.hypot(d[0] - keep[0], d[1] - keep[1]) - d[2]; })) - keep[2];
          near(found, i, keep[4], room, keep[3]);
        });
        for (let j = 0; j < i; j++) {
          let room = Infinity;
          own.forEach(function (a) { all[j].forEach(function (b) { room = Math.min(room, Math.hypot(a[0] - b[0], a[1] - b[1]) - a[2] - b[2]); }); });
          near(found, i, shelf.pieces[j].name, room, shelf.gap);
        }
      });
      pieces.forEach(function (piece, i) {
        const own = found.filter(function (fault) { return fault[0] === i; });
        piece.classList.toggle("touching", own.some(function (fault) { return fault[2]; }));
        piece.classList.toggle("near", own.length > 0 && !own.some(function (fault) { return fault[2]; }));
      });
      list.replaceChildren.apply(list, found.map(function (fault) {
        const line = document.createElement("li");
        line.textContent = fault[1];
        if (fault[2]) line.className = "wrong";
        return line;
      }));
    }
    function inShelf(event) {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      return [point.x, -point.y];
    }

    pieces.forEach(function (piece, i) {
      const form = piece.querySelector("title").textContent;
      piece.setAttribute("tabindex", "0");
      piece.setAttribute("role", "button");
      piece.setAttribute("aria-label", shelf.pieces[i].name + ", " + form + ": arrow keys move it");
      let grip = null;
      piece.addEventListener("pointerdown", function (event) {
        const at = inShelf(event);
        grip = [places[i][0] - at[0], places[i][1] - at[1]];
        piece.setPointerCapture(event.pointerId);
        piece.classList.add("held");
        event.preventDefault();
        piece.focus();
      });
      piece.addEventListener("pointermove", function (event) {
        if (!grip) return;
        const at = inShelf(event);
        put(i, at[0] + grip[0], at[1] + grip[1], places[i][2]);
      });
      ["pointerup", "pointercancel"].forEach(function (end) {
        piece.addEventListener(end, function () {
          if (!grip) return;
          grip = null;
          piece.classList.remove("held");
          kept(i);
        });
      });
      piece.addEventListener("keydown", function (event) {
        const step = event.shiftKey ? 10 : 1;
        const way = { ArrowRight: [step, 0, 0], ArrowLeft: [-step, 0, 0], ArrowUp: [0, step, 0], ArrowDown: [0, -step, 0], ",": [0, 0, 5], ".": [0, 0, -5] }[event.key];
        if (!way) return;
        event.preventDefault();
        put(i, places[i][0] + way[0], places[i][1] + way[1], places[i][2] + way[2]);
        kept(i);
      });
      ["x", "y", "a"].forEach(function (what) {
        box(what, i).addEventListener("input", function () {
          places[i] = read(i);
          draw(i);
          check();
        });
      });
    });
  });
})();
