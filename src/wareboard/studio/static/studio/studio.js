// Only comforts: every page works without this file.
(function () {
  "use strict";

  // A button made here and not by the server; the scripts that a page loads after this one make theirs by it too.
  function quietButton(words, does) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = words;
    button.addEventListener("click", does);
    return button;
  }
  window.quietButton = quietButton;

  // Escape and a tap elsewhere close an open working or menu.
  const OPEN = "details.figure[open], details.more[open]";
  document.addEventListener("click", function (event) {
    document.querySelectorAll(OPEN).forEach(function (open) {
      if (!open.contains(event.target)) open.removeAttribute("open");
    });
  });
  document.addEventListener("keydown", function (event) {
    const open = event.key === "Escape" && document.querySelector(OPEN);
    if (!open) return;
    open.removeAttribute("open");
    open.querySelector("summary").focus();
  });

  // What is typed and not yet accepted is kept in this browser until it is accepted or put back, so that neither a closed
  // window nor a flat battery loses it.
  let typed = false;
  document.querySelectorAll("form[data-guard]").forEach(function (form) {
    const stem = "typed:" + location.pathname + ":";
    const key = stem + form.dataset.guard;
    function named() {
      return Array.from(form.elements).filter(function (box) {
        return box.name && box.type !== "submit" && box.name !== "csrfmiddlewaretoken" && box.name !== "seen";
      });
    }
    function forget() { typed = false; localStorage.removeItem(key); }
    Object.keys(localStorage).forEach(function (old) {
      if (old.startsWith(stem) && old !== key) localStorage.removeItem(old);  // typed over a version that is past
    });
    form.addEventListener("input", function () {
      typed = true;
      const boxes = {};
      named().forEach(function (box) { boxes[box.name] = box.value; });
      localStorage.setItem(key, JSON.stringify(boxes));
    });
    form.addEventListener("submit", function () { typed = false; });
    document.querySelectorAll("[data-let-go]").forEach(function (link) { link.addEventListener("click", forget); });

    const kept = JSON.parse(localStorage.getItem(key) || "null");
    const differs = kept && named().some(function (box) {
      return kept[box.name] !== undefined && kept[box.name].replace(/\r\n/g, "\n") !== box.value.replace(/\r\n/g, "\n");
    });
    if (!differs || document.getElementById("troubles")) return;
    const offer = document.createElement("div");
    offer.className = "said info";
    offer.setAttribute("role", "status");
    const words = document.createElement("p");
    words.textContent = "Something was typed here before and neither accepted nor put back.";
    offer.append(words, quietButton("Take it up again", function () {
      Object.entries(kept).forEach(function (entry) {
        let box = form.elements.namedItem(entry[0]);
        if (!box) {
          box = document.createElement("input");
          box.type = "hidden";
          box.name = entry[0];
          form.append(box);
        }
        box.value = entry[1];
      });
      offer.remove();
      const show = form.querySelector('button[value="show"]');
      if (show) form.requestSubmit(show);
    }), quietButton("Let it go", function () { forget(); offer.remove(); }));
    form.before(offer);
  });
  window.addEventListener("beforeunload", function (event) { if (typed) event.preventDefault(); });

  // While the answer to a button is on its way, the same button pressed again does nothing, so that a second press keeps
  // nothing twice; and what was typed last is not looked at live as well. The bench's entries have a list of their own.
  const PATIENCE_MS = 5000;
  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (event.defaultPrevented || form.matches("[data-entry], [data-photo]")) return;
    const button = event.submitter;
    const sent = "sent:" + (button ? button.name + "=" + button.value + button.textContent.trim() : "");
    if (form.getAttribute("method") === "post" && form.dataset.sent === sent) return event.preventDefault();
    form.dataset.sent = sent;
    setTimeout(function () { if (form.dataset.sent === sent) delete form.dataset.sent; }, PATIENCE_MS);
  });
  document.addEventListener("htmx:beforeRequest", function (event) {
    const form = event.detail.elt.closest("form");
    if (form && form.dataset.sent) event.preventDefault();
  });
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sent]").forEach(function (form) { delete form.dataset.sent; });
  });

  // A live answer that fails says so; the button beside it shows the page that tells why.
  function failed(event) {
    const target = event.detail.target;
    if (!target) return;
    const words = document.createElement("p");
    words.className = "wrong";
    words.setAttribute("role", "alert");
    words.textContent = "The studio could not work this out just now. What you typed is still here; try the button.";
    target.prepend(words);
  }
  document.addEventListener("htmx:responseError", failed);
  document.addEventListener("htmx:sendError", failed);

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
