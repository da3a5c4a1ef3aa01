// The field page's worker: keeps the shell, and lets everything else through.
//
// A shell is kept whole or not at all: each file must be the one whose hash the server
// named, so that a change half-way never mixes two versions.

const NAME = `field-${VERSION}`;

self.addEventListener("install", (event) => event.waitUntil(keepAll()));

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

self.addEventListener("message", (event) => {
  if (event.data === "use-now") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== self.location.origin || pathname.startsWith("/api/")) return;
  const path = mode === "navigate" && pathname.startsWith("/field/") ? "/field/" : pathname;
  if (path in FILES) event.respondWith(fromShell(event.request, path));
});

async function keepAll() {
  const cache = await caches.open(NAME);
  await Promise.all(Object.entries(FILES).map(([path, hash]) => keep(cache, path, hash)));
}

async function keep(cache, path, hash) {
  const response = await fetch(path, { cache: "reload", credentials: "omit" });
  if (!response.ok) throw new Error(`${path}: status ${response.status}`);
  const bytes = await response.clone().arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const found = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
  if (found !== hash) throw new Error(`${path}: not the file that the server named`);
  await cache.put(path, response);
}

async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith("field-") && name !== NAME) await caches.delete(name);
  }
  await self.clients.claim();
}

async function fromShell(request, path) {
  const cache = await caches.open(NAME);
  return (await cache.match(path)) ?? fetch(request);
}
