// Points of an outline moved over its picture by mouse, finger or keys. The boxes beside it are what is sent; without this
// file they are filled in by hand.
(function () {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const REACH_PX = 22, STEP_MM = 1, LONG_STEP_MM = 5, LEAST_MM = 0.5, MOST_POINTS = 40, MOST_UNDO = 200;

  document.querySelectorAll("svg[data-places]").forEach(function (svg) {
    const body = document.getElementById(svg.dataset.points);
    if (body) board(svg, body);
  });

  function board(svg, body) {
    const to = svg.dataset.places.split(" ").map(Number), from = inverse(to);
    const pattern = body.rows[0].cloneNode(true), count = document.querySelector("[data-point-count]");
    document.querySelectorAll("[data-spare]").forEach(function (spare) { spare.remove(); });  // rows for hands without a script
    const layer = made("g", {});
    const lines = [-1, 1].flatMap(function (side) {
      return ["point-line-under", "point-line"].map(function (name) {
        const line = made("polyline", { class: name });
        layer.append(line);
        return { side: side, line: line };
      });
    });
    const marks = made("g", {}), bar = document.createElement("div"), said = document.createElement("p");
    let points = read(), chosen = 0, dragged = null, past = [], kept = snapshot();
    layer.append(marks);
    svg.append(layer);
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", "The outline’s points. Arrow keys move a point by 1 mm, with Shift by 5 mm.");

    bar.className = "acts point-acts";
    const add = quietButton("Add a point", addAfter), away = quietButton("Take it away", takeAway), undo = quietButton("Undo", undone);
    said.className = "small soft point-said";
    bar.append(add, away, undo);
    svg.parentNode.after(said, bar);

    // --- What is written in the boxes, and back.
    function boxes(row) { return [row.querySelector("[name^=height]"), row.querySelector("[name^=width]")]; }
    function figure(text) {
      const plain = text.trim().replace(/\s*mm$/i, "").replace(",", ".");
      return plain !== "" && isFinite(plain) ? Number(plain) : null;
    }
    function read() {
      return Array.from(body.rows).map(function (row) {
        const written = boxes(row).map(function (box) { return box.value; }), size = written.map(figure);
        return { row: row, written: written, h: size[0], r: size[1] === null ? null : size[1] / 2 };
      });
    }
    function shown() {
      const seen = points.filter(function (point) { return point.h !== null && point.r !== null; });
      return seen.sort(function (a, b) { return a.h - b.h; });
    }
    function write(point) {
      point.written = [point.h.toFixed(1), (2 * point.r).toFixed(1)];
      boxes(point.row).forEach(function (box, at) { box.value = point.written[at]; });
    }
    function snapshot() { return JSON.stringify(points.map(function (point) { return point.written; })); }
    function keep() {
      const now = snapshot();
      if (now === kept) return;
      past.push(kept);
      if (past.length > MOST_UNDO) past.shift();
      kept = now;
      draw();
    }
    function rebuilt(written) {
      body.replaceChildren.apply(body, written.map(function (pair, at) {
        const row = pattern.cloneNode(true), names = ["height", "width"];
        row.cells[0].textContent = at + 1;
        boxes(row).forEach(function (box, which) {
          box.name = names[which] + "-" + at;
          box.value = pair[which];
          box.setAttribute("aria-label", (which ? "Width at point " : "Height of point ") + (at + 1) + ", mm");
        });
        return row;
      }));
      points = read();
      if (count) count.textContent = points.length;
      marks.replaceChildren();
    }
    body.addEventListener("input", function () { points = read(); draw(); });
    body.addEventListener("change", function () { points = read(); keep(); });

    // --- Places: (radius, height) in mm to the picture and back.
    function mapped(m, x, y) {
      const w = m[6] * x + m[7] * y + m[8];
      return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
    }
    function inPicture(event) {
      const place = svg.createSVGPoint();
      place.x = event.clientX;
      place.y = event.clientY;
      return place.matrixTransform(svg.getScreenCTM().inverse());
    }
    function unit() { const at = svg.getScreenCTM(); return at && at.a ? 1 / at.a : 1; }

    // --- Drawing.
    function draw() {
      const seen = shown(), dot = unit();
      lines.forEach(function (each) {
        each.line.setAttribute("points", seen.map(function (point) {
          return mapped(to, each.side * point.r, point.h).map(function (v) { return v.toFixed(2); }).join(",");
        }).join(" "));
      });
      chosen = Math.max(0, Math.min(chosen, seen.length - 1));
      if (marks.children.length !== 2 * seen.length) {
        marks.replaceChildren.apply(marks, seen.flatMap(function () { return [mark(-1), mark(1)]; }));
      }
      seen.forEach(function (point, at) {
        [-1, 1].forEach(function (side, which) {
          const each = marks.children[2 * at + which], place = mapped(to, side * point.r, point.h);
          each.setAttribute("transform", "translate(" + place[0].toFixed(2) + " " + place[1].toFixed(2) + ") scale(" + dot + ")");
          each.classList.toggle("is-chosen", at === chosen);
          if (side < 0) return;
          each.setAttribute("tabindex", "0");
          each.setAttribute("aria-valuenow", point.h.toFixed(1));
          each.setAttribute("aria-valuemin", "0");
          each.setAttribute("aria-valuemax", seen[seen.length - 1].h.toFixed(1));
          each.setAttribute("aria-valuetext", told(point));
          each.setAttribute("aria-label", "Point " + (at + 1) + " of " + seen.length + ": " + told(point));
        });
      });
      const point = seen[chosen];
      said.textContent = point ? "Point " + (chosen + 1) + ": " + told(point) + "." : "";
      undo.disabled = past.length === 0;
      away.disabled = seen.length < 3;
      add.disabled = seen.length < 2 || points.length >= MOST_POINTS;
    }
    function told(point) { return "height " + short(point.h) + " mm, radius " + short(point.r) + " mm"; }
    function short(value) { return String(Number(value.toFixed(2))); }
    function mark(side) {
      const group = made("g", { class: "point-mark" });
      group.append(made("circle", { r: REACH_PX, class: "point-reach" }), made("circle", { r: 6, class: "point-dot" }));
      if (side < 0) group.setAttribute("aria-hidden", "true");
      else {
        group.setAttribute("role", "slider");
        group.setAttribute("aria-orientation", "vertical");
      }
      return group;
    }
    function made(name, given) {
      const one = document.createElementNS(SVG, name);
      Object.entries(given).forEach(function (pair) { one.setAttribute(pair[0], pair[1]); });
      return one;
    }
    function choose(at, focus) {
      chosen = at;
      draw();
      if (focus && marks.children[2 * at + 1]) marks.children[2 * at + 1].focus({ preventScroll: true });
    }

    // --- Moving: a point stays between its neighbours' heights, so that the order from foot to rim is kept.
    function move(point, h, r) {
      const seen = shown(), at = seen.indexOf(point);
      const low = at > 0 ? seen[at - 1].h : 0, high = at < seen.length - 1 ? seen[at + 1].h : Infinity;
      point.h = Math.max(low, Math.min(high, h));
      point.r = Math.max(LEAST_MM, r);
      write(point);
      draw();
    }
    function nearest(event) {
      const seen = shown(), at = inPicture(event), far = REACH_PX * unit();
      let best = null;
      seen.forEach(function (point, which) {
        [-1, 1].forEach(function (side) {
          const place = mapped(to, side * point.r, point.h), off = Math.hypot(place[0] - at.x, place[1] - at.y);
          if (off <= far && (!best || off < best.off)) {
            best = { off: off, which: which, side: side, point: point, dx: place[0] - at.x, dy: place[1] - at.y };
          }
        });
      });
      return best;
    }
    // A finger on a point moves it; anywhere else on the picture it moves the page as ever.
    svg.addEventListener("touchstart", function (event) {
      if (event.touches.length === 1 && nearest(event.touches[0])) event.preventDefault();
    }, { passive: false });
    svg.addEventListener("pointerdown", function (event) {
      const near = event.isPrimary && event.button === 0 && nearest(event);
      if (!near) return;
      event.preventDefault();
      dragged = near;
      svg.setPointerCapture(event.pointerId);
      choose(near.which, true);
    });
    svg.addEventListener("pointermove", function (event) {
      if (!dragged) return;
      const at = inPicture(event), place = mapped(from, at.x + dragged.dx, at.y + dragged.dy);
      move(dragged.point, place[1], dragged.side * place[0]);
    });
    ["pointerup", "pointercancel"].forEach(function (name) {
      svg.addEventListener(name, function () { if (dragged) { dragged = null; keep(); } });
    });
    svg.addEventListener("focusin", function (event) {
      const at = Array.from(marks.children).indexOf(event.target);
      if (at >= 0 && (at - 1) / 2 !== chosen) choose((at - 1) / 2, false);
    });
    svg.addEventListener("keydown", function (event) {
      const seen = shown(), point = seen[chosen], step = event.shiftKey ? LONG_STEP_MM : STEP_MM;
      const ways = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }, way = ways[event.key];
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") undone();
      else if (event.ctrlKey || event.metaKey || event.altKey || !point) return;
      else if (way) { move(point, point.h + way[0] * step, point.r + way[1] * step); keep(); }
      else if (event.key === "PageUp" || event.key === "PageDown") {
        choose(Math.max(0, Math.min(seen.length - 1, chosen + (event.key === "PageUp" ? 1 : -1))), true);
      } else if (event.key === "Delete" && seen.length > 2) { takeAway(); choose(chosen, true); } else return;
      event.preventDefault();
    });

    // --- A point more, a point less, and the last change undone.
    function put(h, r) {
      const written = points.map(function (point) { return point.written; });
      const before = points.findIndex(function (point) { return point.h !== null && point.h > h; });
      written.splice(before < 0 ? written.length : before, 0, [h.toFixed(1), (2 * r).toFixed(1)]);
      rebuilt(written);
      chosen = shown().findIndex(function (point) { return point.written[0] === h.toFixed(1) && Math.abs(point.r - r) < 0.051; });
      keep();
    }
    function addAfter() {
      const seen = shown(), at = Math.min(chosen, seen.length - 2), one = seen[at], next = seen[at + 1];
      put((one.h + next.h) / 2, (one.r + next.r) / 2);
    }
    svg.addEventListener("dblclick", function (event) {
      const at = inPicture(event), place = mapped(from, at.x, at.y), seen = shown();
      if (add.disabled || nearest(event) || place[1] <= seen[0].h || place[1] >= seen[seen.length - 1].h) return;
      put(place[1], Math.max(LEAST_MM, Math.abs(place[0])));
    });
    function takeAway() {
      const gone = shown()[chosen];
      rebuilt(points.filter(function (point) { return point !== gone; }).map(function (point) { return point.written; }));
      keep();
    }
    function undone() {
      if (!past.length) return;
      kept = past.pop();
      rebuilt(JSON.parse(kept));
      draw();
    }
    window.addEventListener("resize", draw);
    draw();
  }

  // The inverse of a 3 x 3 matrix, up to a factor, which a place divided by its third figure does not feel.
  function inverse(m) {
    return [m[4] * m[8] - m[5] * m[7], m[2] * m[7] - m[1] * m[8], m[1] * m[5] - m[2] * m[4],
      m[5] * m[6] - m[3] * m[8], m[0] * m[8] - m[2] * m[6], m[2] * m[3] - m[0] * m[5],
      m[3] * m[7] - m[4] * m[6], m[1] * m[6] - m[0] * m[7], m[0] * m[4] - m[1] * m[3]];
  }
})();
