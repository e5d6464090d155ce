// Keeps the app for the hangar: what was loaded once is there without a network. With a network
// the newest is taken, so that page and program always fit each other.
const KEPT = "loomwright";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).origin !== self.location.origin) {
    return;
  }
  event.respondWith(newest(request));
});

async function newest(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.ok) {
      await kept.put(request, answer.clone());
    }
    return answer;
  } catch (error) {
    const before = await kept.match(request, { ignoreSearch: true });
    if (before) {
      return before;
    }
    throw error;
  }
}
