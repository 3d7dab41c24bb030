// Clicking corners on the photograph writes them into the boxes, in dots of the picture as it is sent.
(() => {
  "use strict";
  const input = document.querySelector("[data-tile-picture]"), look = document.getElementById("tile-look");
  if (!input || !look) return;
  const canvas = document.getElementById("tile-canvas"), say = document.getElementById("tile-say");
  const pen = canvas.getContext("2d");
  let picture = null, picking = null, points = [];
  const draw = () => {
    pen.drawImage(picture, 0, 0);
    pen.lineWidth = Math.max(2, canvas.width / 300);
    pen.strokeStyle = "#d0006f";
    for (const [x, y] of points) {
      pen.beginPath();
      pen.arc(x, y, canvas.width / 80, 0, 7);
      pen.stroke();
    }
  };
  input.addEventListener("change", () => {
    const file = input.files[0];
    if (!file) { look.hidden = true; return; }
    const reader = new FileReader();
    reader.addEventListener("load", () => {
      const opened = new Image();
      opened.addEventListener("load", () => {
        picture = opened;
        canvas.width = opened.naturalWidth;
        canvas.height = opened.naturalHeight;
        points = [];
        draw();
        look.hidden = false;
        say.textContent = "Choose below what you are about to click.";
      });
      opened.addEventListener("error", () => { look.hidden = true; });
      opened.src = reader.result;
    });
    reader.readAsDataURL(file);
  });
  for (const button of look.querySelectorAll("[data-pick]")) {
    button.addEventListener("click", () => {
      picking = { box: document.getElementById(button.dataset.pick), count: Number(button.dataset.count) };
      points = [];
      draw();
      say.textContent = picking.count === 2 ? "Click two opposite corners." : "Click the four corners, round from the brown patch.";
    });
  }
  canvas.addEventListener("click", (event) => {
    if (!picking) return;
    const room = canvas.getBoundingClientRect();
    points.push([Math.round((event.clientX - room.left) * canvas.width / room.width), Math.round((event.clientY - room.top) * canvas.height / room.height)]);
    draw();
    if (points.length < picking.count) return;
    const [a, b] = points;
    picking.box.value = picking.count === 2
      ? [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[0], b[0]), Math.max(a[1], b[1])].join(" ")
      : points.map((each) => each.join(",")).join(" ");
    say.textContent = "Written into its box below.";
    picking = null;
  });
})();
