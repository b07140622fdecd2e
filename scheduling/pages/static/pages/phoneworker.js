// Keeps the day's page and what it is made of, so that it opens without signal as it stood last.
"use strict";

const KEPT = "pourplan-day-1";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

function isOurs(request) {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return false;
  return /^\/d\/[A-Za-z0-9]+$/.test(url.pathname) || url.pathname.startsWith("/static/pages/");
}

async function answered(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    // A link that opens no more opens nothing here either.
    if (answer.status === 404 || answer.status === 410) await kept.delete(request);
    else if (answer.ok) await kept.put(request, answer.clone());
    return answer;
  } catch (noSignal) {
    const found = await kept.match(request, { ignoreVary: true });
    if (!found) throw noSignal;
    const headers = new Headers(found.headers);
    headers.set("X-From-Phone", "1");
    return new Response(found.body, { status: found.status, headers });
  }
}

self.addEventListener("fetch", (event) => {
  if (isOurs(event.request)) event.respondWith(answered(event.request));
});
