// Keeps the page's own files, so that it works without a network once it was loaded. A new build has another name.
const NAME = "lineshaft-__VERSION__";
const FILES = __FILES__;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("lineshaft-") && name !== NAME);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  event.respondWith(caches.open(NAME).then((cache) => cache.match(event.request, { ignoreSearch: true })).then((kept) => kept ?? fetch(event.request)));
});
