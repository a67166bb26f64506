// Keeps pages on the phone: what a page asks to be kept opens without reception. One worker for all; each scope has a box of its own.
const BOX = `weldworth ${self.registration.scope}`;
const PATIENCE_MS = 4000;
const SCOPE = new URL(self.registration.scope).pathname;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("message", (event) => {
  if (event.data?.keep) event.waitUntil(keep(event.data.keep).then(() => event.source?.postMessage({ kept: event.data.keep.length })));
});
async function keep(addresses) {
  const box = await caches.open(BOX);
  const wanted = new Set(addresses.map((one) => new URL(one, self.location).href));
  const there = new Set((await box.keys()).map((request) => request.url));
  for (const url of there) if (new URL(url).pathname.startsWith("/static/") && !wanted.has(url)) await box.delete(url);
  await Promise.all([...wanted].filter((url) => !there.has(url)).map((url) => box.add(url)));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || request.cache === "no-store") return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (url.pathname.startsWith("/static/") || url.pathname.startsWith(SCOPE)) event.respondWith(part(request));
});

/* A page comes from the network while that is quick, else as it was kept. One that is gone is not kept either. */
async function page(request) {
  const box = await caches.open(BOX);
  const kept = await box.match(request, { ignoreVary: true });
  const fresh = fetch(request).then(async (answer) => {
    if (answer.ok) await box.put(request, answer.clone());
    else if (answer.status === 404) await box.delete(request);
    return answer;
  });
  if (!kept) return fresh;
  fresh.catch(() => {});
  const late = new Promise((done) => setTimeout(() => done(kept), PATIENCE_MS));
  return Promise.race([fresh.then((answer) => (answer.status >= 500 ? kept : answer)).catch(() => kept), late]);
}
async function part(request) {
  return (await (await caches.open(BOX)).match(request, { ignoreVary: true })) ?? fetch(request);
}
