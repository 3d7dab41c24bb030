// Keeps the pages of the bench that were opened, and what they are drawn with, for when there is no network. Entries are not
// its business: they lie in the page's own list and are sent from there.
"use strict";
const SHELF = "bench-pages-1";
const AWAY = "/bench/away/";
const FIRST = [AWAY, "/bench/", "/bench/today/", "/bench/timers/", "/static/studio/studio.css", "/static/studio/bench.css", "/static/studio/measures.css", "/bench/measure/",
  "/static/studio/studio.js", "/static/studio/bench.js", "/static/django_htmx/htmx-2.min.js", "/static/studio/mark.svg", "/static/studio/phones.css",
  "/static/studio/icon-192.png", "/static/studio/icon-512.png", "/static/studio/icon-512-maskable.png",
  "/static/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2", "/static/fonts/young-serif-latin-400-normal.woff2"];
const PATIENCE_MS = 5000;

self.addEventListener("install", function (event) {
  event.waitUntil(caches.open(SHELF).then(function (shelf) {
    return Promise.all(FIRST.map(function (address) { return shelf.add(address).catch(function () { return null; }); }));
  }).then(function () { return self.skipWaiting(); }));
});
self.addEventListener("activate", function (event) {
  event.waitUntil(caches.keys().then(function (names) {
    return Promise.all(names.filter(function (name) { return name.startsWith("bench-pages-") && name !== SHELF; })
      .map(function (name) { return caches.delete(name); }));
  }).then(function () { return self.clients.claim(); }));
});
self.addEventListener("fetch", function (event) {
  const asked = event.request;
  const address = new URL(asked.url);
  if (asked.method !== "GET" || address.origin !== self.location.origin) return;
  if (asked.headers.get("X-Fresh")) event.respondWith(fetch(asked).then(keep));
  else if (address.pathname.startsWith("/static/")) event.respondWith(freshOrKept(asked, null));
  else if (asked.mode === "navigate" && address.pathname.startsWith("/bench/")) event.respondWith(freshOrKept(asked, AWAY));
});
// A page that was brought up to date in place is kept as it is now, not as it was when it was opened.
async function keep(fresh) {
  if (fresh.ok && !fresh.redirected) await (await caches.open(SHELF)).put(fresh.url, fresh.clone());
  return fresh;
}
async function freshOrKept(asked, otherwise) {
  const shelf = await caches.open(SHELF);
  const late = new AbortController();
  const timer = setTimeout(function () { late.abort(); }, PATIENCE_MS);
  try {
    const fresh = await fetch(asked, { signal: late.signal });
    const kind = fresh.headers.get("Content-Type") || "";
    if (fresh.ok && !fresh.redirected && (otherwise === null || kind.startsWith("text/html"))) await shelf.put(asked.url, fresh.clone());
    return fresh;
  } catch (away) {
    const kept = await shelf.match(asked.url, { ignoreVary: true });
    if (kept) return kept;
    const page = otherwise && await shelf.match(otherwise, { ignoreVary: true });
    return page || Response.error();
  } finally {
    clearTimeout(timer);
  }
}
