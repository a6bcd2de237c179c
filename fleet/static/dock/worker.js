// Keeps the form of the dock for when there is no signal. The server writes one line above this:
// SHELL = {version, page, files}; when any of the files changes, so does the line, and a browser
// takes the new worker with all the files at once, or none of them.
"use strict";

const KEPT = `dock ${SHELL.page} ${SHELL.version}`;
const PHOTOS = `dock ${SHELL.page} photos`;
const PATIENCE = 4000; // Milliseconds to wait for a page before the one kept here is shown.

self.addEventListener("install", (event) => event.waitUntil(fetchAll().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(tidied().then(() => self.clients.claim())));

async function fetchAll() {
  const cache = await caches.open(KEPT);
  await cache.addAll(SHELL.files.map((file) => new Request(file, { cache: "reload" })));
  const page = await fetch(SHELL.page, { cache: "reload" });
  if (!page.ok || page.redirected) throw new Error("Signed out: the form of the dock is not kept.");
  await cache.put(SHELL.page, page);
}

async function tidied() {
  const own = (await caches.keys()).filter((name) => name.startsWith(`dock ${SHELL.page} `));
  await Promise.all(own.filter((name) => name !== KEPT && name !== PHOTOS).map((name) => caches.delete(name)));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname, origin } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (pathname === SHELL.page) event.respondWith(page(request));
  } else if (SHELL.files.includes(pathname)) {
    event.respondWith(kept(request, pathname));
  } else if (/\/photos\/[0-9a-f-]+\/small\/$/.test(pathname)) {
    event.respondWith(photo(request));
  }
});

/** The page as the server has it; as it is kept here where the server does not answer in time. */
async function page(request) {
  const here = await caches.match(SHELL.page, { cacheName: KEPT });
  if (!here) return fetch(request);
  try {
    const signal = AbortSignal.timeout(PATIENCE);
    const fresh = await fetch(request, { signal });
    if (fresh.ok && !fresh.redirected) await (await caches.open(KEPT)).put(SHELL.page, fresh.clone());
    return fresh.status >= 500 ? here : fresh;
  } catch (fault) {
    return here; // No signal: this is what the worker is for.
  }
}

async function kept(request, pathname) {
  return (await caches.match(pathname, { cacheName: KEPT })) || fetch(request);
}

/** Earlier photos, once shown, are there without signal too. */
async function photo(request) {
  const cache = await caches.open(PHOTOS);
  const here = await cache.match(request);
  if (here) return here;
  const fresh = await fetch(request);
  if (fresh.ok && !fresh.redirected) await cache.put(request, fresh.clone());
  return fresh;
}
