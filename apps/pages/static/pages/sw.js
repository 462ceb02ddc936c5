"use strict";
/* Pages stay readable without a signal: the network first, what was seen last when it is away.
   Sending is not done here but in queue.js, where the person can see it. */

const OURS = "kept-RELEASE";
const PAGES = "seen";
const SLOW_MS = 4000;
const MOST_PAGES = 40;
const NO_SIGNAL = "/without-signal/";
const KEPT = FILES;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const kept = await caches.open(OURS);
    await kept.addAll(KEPT);
    await kept.put(NO_SIGNAL, await fetch(NO_SIGNAL, { credentials: "omit" }));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name !== OURS && name !== PAGES) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === "POST" && url.pathname === "/sign-out/") {
    event.respondWith(forget().then(() => fetch(request)));
    return;
  }
  if (request.method !== "GET" || url.pathname.startsWith("/api/")) return;
  /* Behind an address that is a secret: nothing of it is kept. */
  if (url.pathname.startsWith("/visit/") || url.pathname.startsWith("/feed/")) return;
  const isPage = request.mode === "navigate" || (request.headers.get("Accept") || "").includes("text/html");
  if (url.pathname.startsWith("/static/")) event.respondWith(networkFirst(event, OURS));
  else if (isPage || request.headers.has("HX-Request")) event.respondWith(networkFirst(event, PAGES));
});

async function networkFirst(event, name) {
  const { request } = event;
  const cache = await caches.open(name);
  const asked = fetch(request).then(async (response) => {
    if (name === PAGES) await remember(cache, request, response.clone());
    else if (response.ok) await cache.put(request, response.clone());
    return response;
  });
  const seen = await cache.match(request, { ignoreVary: true });
  if (request.headers.has("X-Fresh")) return asked;
  if (!seen) return asked.catch(() => nothing(name, request));
  event.waitUntil(asked.catch(() => undefined));
  const slow = new Promise((resolve) => { setTimeout(() => resolve(seen), SLOW_MS); });
  return Promise.race([asked.catch(() => seen), slow]);
}

/* Only whole pages of someone who is signed in; who is sent to sign in keeps none. */
async function remember(cache, request, response) {
  if (new URL(response.url || request.url).pathname === "/sign-in/") { await forget(); return; }
  const isHtml = (response.headers.get("Content-Type") || "").startsWith("text/html");
  if (!response.ok || response.redirected || !isHtml) return;
  await cache.delete(request, { ignoreVary: true });
  await cache.put(request, response);
  const keys = await cache.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST_PAGES))) await cache.delete(old);
}

async function nothing(name, request) {
  if (name !== PAGES) return Response.error();
  const pages = await caches.open(PAGES);
  const home = new URL(request.url).pathname === "/"
    && await pages.match("/tonight/", { ignoreSearch: true, ignoreVary: true });
  return home || (await caches.open(OURS)).match(NO_SIGNAL);
}

async function forget() {
  await caches.delete(PAGES);
}
