// Only comforts: every page works without this file.
(function () {
  "use strict";
  // Escape and a tap elsewhere close an open working or menu.
  function close(but) {
    document.querySelectorAll("details.figure[open], details.more[open]").forEach(function (open) {
      if (!but || !open.contains(but)) open.removeAttribute("open");
    });
  }
  document.addEventListener("click", function (event) { close(event.target); });
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") return;
    const open = document.querySelector("details.figure[open], details.more[open]");
    if (!open) return;
    open.removeAttribute("open");
    open.querySelector("summary").focus();
  });
  // Leaving a page with something typed and not kept asks first.
  let typed = false;
  document.querySelectorAll("form[data-guard]").forEach(function (form) {
    form.addEventListener("input", function () { typed = true; });
    form.addEventListener("submit", function () { typed = false; });
  });
  document.querySelectorAll("[data-let-go]").forEach(function (link) {
    link.addEventListener("click", function () { typed = false; });
  });
  window.addEventListener("beforeunload", function (event) { if (typed) event.preventDefault(); });
  // A link to a box inside something folded opens it.
  function unfold() {
    const aim = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!aim) return;
    for (let up = aim.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
    if (aim.matches("input, select, textarea")) aim.focus();
    aim.scrollIntoView({ block: "center" });
  }
  window.addEventListener("hashchange", unfold);
  unfold();
  const troubles = document.getElementById("troubles");
  if (troubles && !location.hash) troubles.focus();
})();
