// The bench with scripts: entries go first into this browser's own list and are struck off when the studio has them. Every
// page of the bench works without this file.
(function () {
  "use strict";
  const here = document.currentScript.dataset;
  const AT_ONCE = 20;
  const AGAIN_MS = 8000;

  // ---- The list of entries in this browser -------------------------------------------------------------------------
  let opening = null;
  function opened() {
    opening = opening || new Promise(function (yes, no) {
      const asked = indexedDB.open("wareboard-bench", 1);
      asked.onupgradeneeded = function () { asked.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true }); };
      asked.onsuccess = function () { yes(asked.result); };
      asked.onerror = function () { no(asked.error); };
    });
    return opening;
  }
  async function inList(mode, does) {
    const base = await opened();
    return new Promise(function (yes, no) {
      const act = base.transaction("entries", mode);
      const asked = does(act.objectStore("entries"));
      act.oncomplete = function () { yes(asked.result); };
      act.onabort = act.onerror = function () { no(act.error); };
    });
  }
  const all = function () { return inList("readonly", function (list) { return list.getAll(); }); };
  const put = function (row) { return inList("readwrite", function (list) { return list.put(row); }); };
  const strike = function (seq) { return inList("readwrite", function (list) { return list.delete(seq); }); };

  function freshKey() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
  }

  // ---- Sending: one at a time, in order, until the list is empty or the studio does not answer ----------------------------
  let sending = null;
  let more = false;  // an entry came while the last ones were on their way
  // Done only when what came meanwhile was tried as well, so that no page is loaded anew over an entry still to be sent.
  function send() {
    more = true;
    sending = sending || rounds();
    return sending;
  }
  async function rounds() {
    try {
      while (more) {
        more = false;
        await (navigator.locks ? navigator.locks.request("bench-send", flush) : flush());
      }
    } finally { sending = null; }
  }
  let lapsed = false;  // the studio wants to know first who this is; what is kept here waits for that
  async function flush() {
    const said = [];
    lapsed = false;
    for (;;) {
      const rows = nextOf((await all()).filter(function (row) { return row.state === "new"; }));
      if (!rows.length) break;
      let results;
      try { results = rows[0].photo ? await postPhoto(rows[0]) : await post(rows); } catch (away) { break; }
      if (!results) break;
      for (const result of results) {
        const row = rows.find(function (each) { return each.key === result.key; });
        if (!row) continue;
        if (result.state === "kept" || result.state === "already" || result.state === "waits") {
          await strike(row.seq);
          said.push(result);
        } else {
          await put(Object.assign(row, { state: result.state, words: result.words }));
        }
      }
      if (!results.length) break;
    }
    await shown();
    if (said.length) await refreshed(said);
  }
  // In order: as many entries as stand before the next photograph, or that photograph alone.
  function nextOf(rows) {
    if (rows.length && rows[0].photo) return rows.slice(0, 1);
    const photo = rows.findIndex(function (row) { return row.photo; });
    return rows.slice(0, photo < 0 ? AT_ONCE : Math.min(AT_ONCE, photo));
  }
  async function postPhoto(row, again) {
    const body = new FormData();
    Object.keys(row.fields).forEach(function (name) { body.append(name, row.fields[name]); });
    body.append("key", row.key);
    body.append("made", row.made);
    body.append("sent", Date.now());
    body.append("photo", new Blob([row.photo], { type: row.type }), "photograph");
    const answer = await fetch(here.photos, {
      method: "POST", body: body, credentials: "same-origin", redirect: "error",
      headers: { "Accept": "application/json", "X-CSRFToken": token() },
    });
    if (answer.status === 401) { lapsed = true; return null; }
    if (answer.status === 403 && !again) { await freshToken(); return postPhoto(row, true); }
    if (answer.status >= 400 && answer.status < 500 && answer.status !== 403) {
      return [{ key: row.key, state: "refused", words: "The studio did not take the photograph (" + answer.status + ")." }];
    }
    if (!answer.ok) return null;
    return [Object.assign(await answer.json(), { key: row.key })];
  }
  async function freshToken() {
    const answer = await fetch(here.token, { credentials: "same-origin" });
    if (answer.status === 401) lapsed = true;
    if (!answer.ok) return;
    const fresh = await answer.json();
    document.querySelectorAll("input[name=csrfmiddlewaretoken]").forEach(function (box) { box.value = fresh.token; });
  }
  async function post(rows, again) {
    const body = JSON.stringify({
      entries: rows.map(function (row) { return Object.assign({}, row.fields, { key: row.key, made: row.made, sent: Date.now() }); }),
    });
    const answer = await fetch(here.entries, {
      method: "POST", body: body, credentials: "same-origin", redirect: "error",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
    });
    if (answer.status === 401) { lapsed = true; return null; }
    if (answer.status === 403 && !again) {
      await freshToken();
      return post(rows, true);
    }
    if (!answer.ok) return null;
    return (await answer.json()).results;
  }
  function token() {
    const box = document.querySelector("input[name=csrfmiddlewaretoken]");
    return box ? box.value : "";
  }

  // ---- What is not sent yet, and what the studio asks or refuses -----------------------------------------------------------
  async function shown() {
    const room = document.getElementById("unsent");
    if (!room) return;
    const rows = await all();
    room.hidden = !rows.length;
    room.querySelector("h2").textContent = rows.length === 1 ? "1 entry is kept in this phone" : rows.length + " entries are kept in this phone";
    let way = room.querySelector(".sign-in-first");
    if (lapsed && !way) {
      way = document.createElement("p");
      way.className = "sign-in-first";
      const link = document.createElement("a");
      link.className = "button main-act";
      link.href = "/sign-in/?on=" + encodeURIComponent(location.pathname);
      link.textContent = "Sign in to send";
      way.append(link);
      room.querySelector("h2").after(way);
    } else if (!lapsed && way) way.remove();
    const list = room.querySelector("ol");
    list.replaceChildren.apply(list, rows.map(line));
  }
  function line(row) {
    const item = document.createElement("li");
    item.append((row.fields.board ? row.fields.board + ": " : "") + row.said + ", " + new Date(row.made).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }));
    if (row.state === "new") {
      item.append(document.createElement("br"), act("Do not send it", function () { return strike(row.seq); }));
      return item;
    }
    const words = document.createElement("p");
    words.className = "trouble";
    words.textContent = row.words;
    item.append(words);
    if (row.state === "asked") item.append(act("Yes, keep it", function () {
      row.fields.confirmed = "yes";
      return put(Object.assign(row, { state: "new" }));
    }));
    item.append(act("Let it go", function () { return strike(row.seq); }));
    return item;
  }
  function act(words, does) {
    return quietButton(words, async function () { await does(); await send(); location.reload(); });
  }

  // ---- The page after sending ---------------------------------------------------------------------------------------
  // Whatever was stepped, chosen or typed and is not sent yet must not be swept away by a fresh page.
  function typing() {
    return Array.from(document.querySelectorAll(".bench form input:not([type=hidden]), .bench form textarea")).some(function (box) {
      if (box.type === "radio" || box.type === "checkbox") return box.checked !== box.defaultChecked;
      return box.type === "file" ? box.files.length > 0 : box.value !== box.defaultValue;
    });
  }
  async function refreshed(said) {
    tell(said);
    if (typing()) return;
    try {
      const answer = await fetch(location.href, { credentials: "same-origin", headers: { "X-Fresh": "1" } });
      if (!answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".bench");
      const old = document.querySelector(".bench");
      if (!fresh || !old || typing()) return;
      const at = document.activeElement && document.activeElement.id;
      const scale = ["grams", "value"].includes(at) ? at : "";
      const piece = document.getElementById("piece");
      old.replaceWith(document.importNode(fresh, true));
      // Within the same moment: a scale that types now must find its box, and the number of the piece that lies on it.
      const next = document.getElementById("piece");
      if (piece && next) next.value = next.defaultValue = piece.value;
      const box = scale && document.getElementById(scale);
      if (box) box.focus();
      tell(said);
      await dressed();
    } catch (away) { /* the page stays as it is */ }
  }
  function tell(said) {
    document.querySelectorAll(".said.just-now").forEach(function (old) { old.remove(); });
    const room = document.querySelector(".bench");
    if (!room) return;
    const waits = said.filter(function (each) { return each.state === "waits"; });
    const words = document.createElement("div");
    words.className = "said just-now " + (waits.length ? "error" : "success");
    words.setAttribute("role", waits.length ? "alert" : "status");
    const last = said[said.length - 1];
    const line = document.createElement("p");
    line.textContent = waits.length
      ? "Kept, but not done yet. " + waits.map(function (each) { return each.words; }).join(". ") + "."
      : (said.length > 1 ? said.length + " entries sent. " : "") + last.words + ".";
    words.append(line);
    room.prepend(words);
  }

  const DOUBLE_TAP_MS = 700;
  let lastSaid = { words: "", at: 0 };
  // ---- A form becomes an entry --------------------------------------------------------------------------------------
  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (!form.matches || !form.matches("form[data-entry]") || !window.indexedDB) return;
    event.preventDefault();
    const fields = {};
    new FormData(form, event.submitter || undefined).forEach(function (value, name) { fields[name] = value; });
    ["csrfmiddlewaretoken", "key", "back"].forEach(function (name) { delete fields[name]; });
    const said = JSON.stringify(fields);
    if (said === lastSaid.words && Date.now() - lastSaid.at < DOUBLE_TAP_MS) return;
    lastSaid = { words: said, at: Date.now() };
    const measures = form.dataset.measure !== undefined;
    if (measures) nextPiece(form);
    else form.reset();  // at once: a scale may be typing the next already, and what is sent is no longer being stepped
    const who = document.getElementById("who");
    if (who && who.defaultValue) fields.who = who.defaultValue;
    const row = { key: freshKey(), fields: fields, made: Date.now(), said: saidOf(form, fields), state: "new" };
    put(row).then(function () {
      applied(row);
      return shown();
    }).then(send).catch(function () {
      // The browser keeps no list, a full disk perhaps: the form goes the plain way, with what was in it.
      form.removeAttribute("data-entry");
      Object.keys(fields).forEach(function (name) { if (form.elements[name]) form.elements[name].value = fields[name]; });
      setTimeout(function () { form.requestSubmit(event.submitter || undefined); }, 0);  // not within the sending that failed
    });
  });
  // ---- A photograph becomes an entry, made smaller first; what the camera wrote beside it does not come along ----
  const PHOTO_SIDE = 1800;
  const MOST_PHOTO = 40e6;
  document.addEventListener("change", function (event) {
    const form = event.target.type === "file" && event.target.closest("form[data-photo]");
    if (form && event.target.files.length && window.indexedDB) form.requestSubmit();
  });
  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (!form.matches || !form.matches("form[data-photo]") || !window.indexedDB) return;
    event.preventDefault();
    const box = form.querySelector("input[type=file]");
    const file = box.files[0];
    if (!file || box.dataset.busy) return;
    box.dataset.busy = "yes";
    kept(form, file).then(function (kept) { if (kept) box.value = ""; }).finally(function () { delete box.dataset.busy; });
  });
  async function kept(form, file) {
    const small = await smaller(file);
    if (!small && file.size > MOST_PHOTO) {
      tell([{ state: "waits", words: "That photograph has " + mega(file.size) + ", and this browser cannot make it smaller: 40 MB is the most" }]);
      return false;
    }
    const photo = small || file;
    const fields = {};
    new FormData(form).forEach(function (value, name) { if (typeof value === "string") fields[name] = value; });
    ["csrfmiddlewaretoken", "key", "back"].forEach(function (name) { delete fields[name]; });
    const who = document.getElementById("who");
    if (who && who.defaultValue) fields.who = who.defaultValue;
    const said = "photograph, " + mega(photo.size) + (photo.size < file.size / 2 ? " of " + mega(file.size) : "");
    await put({ key: freshKey(), fields: fields, photo: await photo.arrayBuffer(), type: photo.type, made: Date.now(), said: said, state: "new" });
    await shown();
    send();
    return true;
  }
  function mega(bytes) { return bytes < 1e6 ? Math.max(1, Math.round(bytes / 1e3)) + " kB" : (bytes / 1e6).toFixed(1) + " MB"; }
  async function smaller(file) {
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const share = Math.min(1, PHOTO_SIDE / Math.max(picture.width, picture.height));
      const cloth = document.createElement("canvas");
      cloth.width = Math.max(1, Math.round(picture.width * share));
      cloth.height = Math.max(1, Math.round(picture.height * share));
      cloth.getContext("2d").drawImage(picture, 0, 0, cloth.width, cloth.height);
      picture.close();
      return await new Promise(function (yes) { cloth.toBlob(yes, "image/jpeg", 0.84); });
    } catch (unread) { return null; }  // the studio says what is wrong with it
  }
  function saidOf(form, fields) {
    if (fields.kind === "lose") return (fields.pieces || 1) + " lost: " + (fields.own_reason || fields.reason);
    if (fields.kind === "weigh") return "weighed " + fields.grams;
    if (fields.kind === "measure") return form.dataset.said.toLowerCase() + (fields.piece ? " of piece " + fields.piece : "") + ": " + fields.value;
    if (fields.kind === "move") return "move to " + fields.to;
    if (fields.kind === "count") return "counted " + fields.pieces;
    if (fields.kind === "grade") {
      const wrong = fields.own_fault || fields.fault;
      return (fields.pieces || 1) + " " + fields.grade + (wrong ? ": " + wrong : "");
    }
    return form.dataset.said + (fields.pieces ? " " + fields.pieces : "");
  }

  // What is not sent yet shows on the page all the same.
  function applied(row) {
    const fields = row.fields;
    const change = { lose: -1, gain: 1, split: -1 }[fields.kind];
    document.querySelectorAll('[data-board="' + CSS.escape(fields.board || "") + '"]').forEach(function (place) {
      const count = place.querySelector("[data-pieces]");
      if (count && change) count.textContent = Math.max(0, Number(count.textContent) + change * Number(fields.pieces || 1));
      if (count && fields.kind === "count") count.textContent = fields.pieces;
      place.querySelectorAll("input[name=pieces_seen]").forEach(function (box) { box.value = count.textContent; });
      if (fields.kind === "move" && !fields.pieces) moved(place, fields.to);
      const left = place.querySelector("[data-to-grade]");
      if (left && fields.kind === "grade") toGrade(left, Number(fields.pieces || 1));
    });
  }
  function toGrade(left, graded) {
    const still = Math.max(0, Number(left.textContent) - graded);
    left.textContent = still;
    document.querySelectorAll("button[data-all-left]").forEach(function (button) {
      button.value = still;
      button.textContent = "All " + still + " are firsts";
      button.hidden = still < 2;
    });
  }
  function moved(place, to) {
    const stages = JSON.parse(place.dataset.stages || "[]");
    const at = stages.findIndex(function (each) { return each[0] === to; });
    if (at < 0) return;
    place.querySelectorAll("input[name=stage_seen]").forEach(function (box) { box.value = to; });
    const words = place.querySelector("[data-stage]");
    if (words) words.textContent = stages[at][1];
    const onward = place.querySelector("form[data-onward]");
    if (!onward) return;
    const next = stages[at + 1];
    onward.hidden = !next;
    if (!next) return;
    onward.querySelector("input[name=to]").value = next[0];
    onward.querySelector("button [data-words]").textContent = next[1];
  }

  // ---- Measuring: the reading is cleared, the next piece named; what and stage stay as they were chosen -----------------
  function nextPiece(form) {
    form.querySelectorAll("input[name=value], input[name=before]").forEach(function (box) {
      if (box.name === "value" && box.value) box.dataset.usual = parseFloat(box.value.replace(",", ".")) || box.dataset.usual || "";
      box.value = "";
    });
    const piece = form.querySelector("input[name=piece]");
    const what = form.querySelector("input[name=what]:checked");
    if (piece && /^[0-9]+$/.test(piece.value) && !(what && what.value === "weigh-in")) piece.value = Number(piece.value) + 1;
    if (form.dataset.measure === "again") {
      // What is chosen becomes the page's own, so that the fresh page that comes after sending is of the same run.
      const asked = new URLSearchParams(location.search);
      asked.set("form", form.elements.form.value);
      asked.set("what", what.value);
      asked.set("stage", form.elements.stage.value);
      history.replaceState(history.state, "", location.pathname + "?" + asked);
    }
    form.querySelectorAll("input").forEach(function (box) { if (box.type !== "radio") box.defaultValue = box.value; else box.defaultChecked = box.checked; });
    const reading = form.querySelector("input[name=value]");
    if (document.activeElement && document.activeElement.tagName === "BUTTON" && matchMedia("(pointer: coarse)").matches) return;
    if (reading) reading.focus();
  }
  document.addEventListener("change", function (event) {
    const chosen = event.target.closest && event.target.closest("form[data-measure] input[name=what]");
    if (!chosen) return;
    const form = chosen.closest("form");
    form.dataset.said = chosen.dataset.words.split(",")[0];
    form.querySelector(".numeral-label").textContent = chosen.dataset.words;
    form.querySelector("input[name=value]").dataset.usual = "";
    form.querySelectorAll(".reading .step").forEach(function (step, at) { step.dataset.step = (at ? 1 : -1) * Number(chosen.dataset.step); });
  });

  // ---- Steppers, the scale, timers -----------------------------------------------------------------------------------------
  document.addEventListener("click", function (event) {
    const step = event.target.closest && event.target.closest(".step");
    if (!step) return;
    const box = document.getElementById(step.dataset.for);
    const stood = parseFloat(box.value.replace(",", "."));
    const value = (isNaN(stood) ? Number(box.dataset.usual || 0) : stood) + Number(step.dataset.step);
    const most = box.max === "" ? Infinity : Number(box.max);  // a text box has no ends of its own
    box.value = Math.round(1000 * Math.min(most, Math.max(Number(box.min || 0), value))) / 1000;
  });
  function plain(at) { return String(Math.floor(at)).padStart(2, "0"); }
  function left(ms) {
    const s = Math.max(0, Math.ceil(ms / 1000));
    return (s >= 3600 ? Math.floor(s / 3600) + ":" + plain((s % 3600) / 60) : String(Math.floor(s / 60))) + ":" + plain(s % 60);
  }
  let sound = null;
  function beep(long) {
    try {
      sound = sound || new AudioContext();
      const tone = sound.createOscillator();
      const loud = sound.createGain();
      tone.frequency.value = long ? 660 : 990;
      loud.gain.value = 0.25;
      tone.connect(loud).connect(sound.destination);
      tone.start();
      tone.stop(sound.currentTime + (long ? 0.7 : 0.09));
    } catch (silent) { /* no sound here; the numeral and the shake tell */ }
    if (navigator.vibrate) navigator.vibrate(long ? [300, 120, 300] : 40);
  }
  // The studio's clock counts, not the phone's: how far they are apart is kept for when there is no network.
  const apart = function () { return Number(localStorage.getItem("bench-clock") || 0); };
  function ticking() {
    const moment = Date.now() + apart();
    document.querySelectorAll("[data-ends]").forEach(function (place) {
      const ends = Number(place.dataset.ends);
      place.textContent = ends > moment ? left(ends - moment) : "Over";
      if (ends <= moment) place.closest(".timer").classList.add("is-over");
    });
    const timers = running();
    const over = timers.filter(function (timer) { return timer.ends <= moment && !timer.rung; });
    if (!over.length) return;
    over.forEach(function (timer) { timer.rung = true; });
    localStorage.setItem("bench-timers", JSON.stringify(timers));
    ring(over.map(function (timer) { return timer.words; }).join(", "));
  }
  // Timers that were seen run on every page of the bench: one that is over is told wherever the thumb is just then.
  function running() {
    try { return JSON.parse(localStorage.getItem("bench-timers") || "[]"); } catch (damaged) { return []; }
  }
  function noted() {
    const room = document.getElementById("running");
    if (!room) return;
    const rung = running().filter(function (timer) { return timer.rung; }).map(function (timer) { return timer.ends + timer.words; });
    const moment = Date.now() + apart();
    localStorage.setItem("bench-timers", JSON.stringify(Array.from(room.querySelectorAll("[data-ends]"), function (place) {
      const timer = { words: place.closest(".timer").querySelector("h2").textContent, ends: Number(place.dataset.ends) };
      timer.rung = timer.ends < moment - 60000 || rung.includes(timer.ends + timer.words);
      return timer;
    })));
  }
  function ring(words) {
    let times = 0;
    const again = setInterval(function () { beep(true); times += 1; if (times >= 4) clearInterval(again); }, 900);
    beep(true);
    const told = document.createElement("p");
    told.className = "said error ringing";
    told.setAttribute("role", "alert");
    told.textContent = words + ": the time is over. ";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = "Quiet";
    button.addEventListener("click", function () { clearInterval(again); told.remove(); });
    told.append(button);
    const room = document.querySelector(".bench");
    if (room) room.prepend(told);
    document.title = "Over: " + words;
    if (document.hidden && window.Notification && Notification.permission === "granted" && navigator.serviceWorker) {
      navigator.serviceWorker.ready.then(function (worker) { return worker.showNotification(words + ": the time is over"); }).catch(function () { /* told when the page wakes */ });
    }
  }
  // A browser lets a page ring only after a tap, and stay lit only where the connection is private.
  document.addEventListener("click", async function (event) {
    const asked = event.target.closest && event.target.closest("#ring-here");
    if (!asked) return;
    beep(false);
    if (sound && sound.resume) await sound.resume().catch(function () { /* silent */ });
    const can = ["rings"];
    if (navigator.wakeLock) await navigator.wakeLock.request("screen").then(function () { can.push("keeps the screen lit"); }).catch(function () { /* it may go dark */ });
    if (window.Notification && Notification.permission === "default") await Notification.requestPermission().catch(function () { /* no */ });
    if (navigator.vibrate) can.push("shakes");
    asked.textContent = "This phone " + can.join(", ") + " while this page is open";
  });
  setInterval(ticking, 250);
  let dwell = null;
  document.addEventListener("click", function (event) {
    const field = event.target.closest && event.target.closest("#dwell-go");
    if (!field) return;
    clearInterval(dwell);
    const seconds = Number(document.querySelector("input[name=dwell]:checked").value);
    const ends = Date.now() + seconds * 1000;
    const words = field.querySelector(".numeral");
    let told = seconds;
    words.textContent = seconds;
    field.classList.add("going");
    beep(false);
    dwell = setInterval(function () {
      const now = Math.ceil((ends - Date.now()) / 1000);
      if (now === told) return;
      told = now;
      words.textContent = Math.max(0, now);
      beep(now <= 0);
      if (now <= 0) { clearInterval(dwell); field.classList.remove("going"); }
    }, 40);
  });

  // ---- The grid: Enter goes down, a spreadsheet's cells are put where the cursor is, rows are added as they are needed ----
  function cellsOf(grid) {
    return Array.from(grid.querySelectorAll("tbody tr:not(.wrong-row)")).map(function (row) { return Array.from(row.querySelectorAll("input")); });
  }
  function rowAdded(grid) {
    const rows = grid.querySelectorAll("tbody tr:not(.wrong-row)");
    const fresh = rows[rows.length - 1].cloneNode(true);
    const number = rows.length + 1;
    fresh.querySelector("th").textContent = number;
    fresh.querySelectorAll("input").forEach(function (box) {
      box.value = "";
      box.id = box.name + "-" + number;
      box.removeAttribute("aria-invalid");
      box.removeAttribute("aria-describedby");
      box.setAttribute("aria-label", "Row " + number + ": " + box.name);
    });
    grid.querySelector("tbody").append(fresh);
  }
  function placeOf(grid, box) {
    const cells = cellsOf(grid);
    const row = cells.findIndex(function (each) { return each.includes(box); });
    return { row: row, column: row < 0 ? -1 : cells[row].indexOf(box) };
  }
  document.addEventListener("keydown", function (event) {
    const grid = event.target.closest && event.target.closest("[data-grid]");
    const down = event.key === "Enter" || event.key === "ArrowDown";
    if (!grid || !(down || event.key === "ArrowUp") || event.altKey || event.isComposing) return;
    if (event.key !== "Enter" && event.target.list) return;  // the arrows choose from its words
    event.preventDefault();
    const at = placeOf(grid, event.target);
    const next = at.row + (down ? 1 : -1);
    if (next < 0) return;
    if (next >= cellsOf(grid).length) rowAdded(grid);
    const box = cellsOf(grid)[next][event.key === "Enter" && at.column >= 3 ? 0 : at.column];
    box.focus();
    box.select();
  });
  document.addEventListener("paste", function (event) {
    const grid = event.target.closest && event.target.closest("[data-grid]");
    const text = grid && event.clipboardData ? event.clipboardData.getData("text/plain").replace(/\r\n?/g, "\n").replace(/\n$/, "") : "";
    if (!/[\t\n]/.test(text)) return;
    event.preventDefault();
    const at = placeOf(grid, event.target);
    text.split("\n").forEach(function (line, down) {
      while (at.row + down >= cellsOf(grid).length) rowAdded(grid);
      line.split("\t").forEach(function (words, right) {
        const box = cellsOf(grid)[at.row + down][at.column + right];
        if (box) box.value = words.trim();
      });
    });
  });

  // ---- A text to copy ----
  document.addEventListener("click", function (event) {
    const asked = event.target.closest && event.target.closest("[data-copy]");
    if (!asked) return;
    const text = document.getElementById(asked.dataset.copy);
    text.select();  // where the browser does not let pages copy, it is marked to be copied by hand
    if (navigator.clipboard) navigator.clipboard.writeText(text.value).then(function () { asked.textContent = "Copied"; }).catch(function () { /* marked */ });
  });

  // ---- When the page comes ---------------------------------------------------------------------------------------------
  async function dressed() {
    document.querySelectorAll(".step, #dwell, [data-copy], #ring-here").forEach(function (hidden) { hidden.hidden = false; });
    noted();
    ticking();
    await shown();
    (await all()).filter(function (row) { return row.state === "new"; }).forEach(applied);
  }
  // A browser gives the marked box the cursor when it first draws the page; the first figures of a scale would be lost till then.
  const ready = document.querySelector(".bench [autofocus]");
  if (ready) ready.focus();
  const manifest = document.createElement("link");
  manifest.rel = "manifest";
  manifest.href = here.manifest;
  document.head.append(manifest);
  if (navigator.serviceWorker) navigator.serviceWorker.register(here.worker).catch(function () { /* pages then need the network */ });
  if (window.indexedDB) {
    dressed().then(send);
    window.addEventListener("online", send);
    document.addEventListener("visibilitychange", function () { if (!document.hidden) send(); });
    setInterval(async function () {
      if ((await all()).some(function (row) { return row.state === "new"; })) send();
    }, AGAIN_MS);
  }
  fetch(here.token, { credentials: "same-origin" }).then(function (answer) { return answer.ok ? answer.json() : Promise.reject(answer); }).then(function (fresh) {
    localStorage.setItem("bench-clock", String(fresh.now_ms - Date.now()));
  }).catch(function () { /* no network */ });
})();
