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
})();
