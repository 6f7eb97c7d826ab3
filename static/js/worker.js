/* Under https only: lets Today and what it is made of load again without a network. Pages come from the server
   whenever it answers; what was seen last is shown only when it does not. Entries do not pass through here: the outbox
   keeps and sends them. */

const PAGES = "pages";
const PARTS = "parts";
const PATIENCE_MS = 4000;
const KEPT = /^\/b\/[^/]+\/today\/$/; // a page that can be worked with while there is no network

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && /\/(sign-out|switch)\//.test(url.pathname)) {
    event.waitUntil(caches.delete(PAGES)); // the next person does not see the last one's page
    return;
  }
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) event.respondWith(part(request));
  else if (request.mode === "navigate" && KEPT.test(url.pathname)) event.respondWith(page(event));
});

async function page(event) {
  const { request } = event;
  const key = new URL(request.url).pathname;
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
    // What leads to the sign-in is opaque here and is not kept; nor is what was kept before it.
    if (answer.ok && !answer.redirected) await keep(PAGES, key, answer.clone());
    else if (answer.type === "opaqueredirect") event.waitUntil(caches.delete(PAGES));
    return answer;
  } catch (problem) {
    const kept = await (await caches.open(PAGES)).match(key);
    if (kept) return kept;
    throw problem;
  }
}

async function part(request) {
  try {
    const answer = await fetch(request);
    if (answer.ok) await keep(PARTS, request, answer.clone());
    return answer;
  } catch (problem) {
    const kept = await (await caches.open(PARTS)).match(request);
    if (kept) return kept;
    throw problem;
  }
}

async function keep(name, key, answer) {
  await (await caches.open(name)).put(key, answer);
}
