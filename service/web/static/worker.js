// The service worker: the page to send from opens without the network; nobody's boards are ever stored by it.
// `SHELL`, the version and the files of that page, stands above: the service writes it there.
"use strict";
importScripts("/static/kept.js");
const SIGNAL_MS = 8000; // a signal so bad that no page comes within this is taken for none

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL.version).then((cache) => cache.addAll(SHELL.files)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name !== SHELL.version).map((name) => caches.delete(name));
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names))).then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(first(request, SHELL.page));
  else if (SHELL.files.includes(address.pathname)) event.respondWith(first(request, address.pathname));
});

// The network's answer, else what is stored as `page`.
async function first(request, page) {
  const patience = new Promise((resolve, reject) => { setTimeout(reject, SIGNAL_MS); });
  try { return await Promise.race([fetch(request), patience]); } catch { return caches.match(page); }
}

self.addEventListener("sync", (event) => {
  if (event.tag === "kept") event.waitUntil(sendInBackground());
});

async function sendInBackground() {
  const sent = [];
  const done = await kept.send(({ name }, board, known) => sent.push({ name, board, known }));
  for (const page of await self.clients.matchAll()) page.postMessage(sent);
  if (!done) throw new Error("the network is away again"); // the browser tries later by itself
}
