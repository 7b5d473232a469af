// Keeps the page for the shed, so that it opens where there is no signal. What is kept and its version stand above.
const NAME = `ortet-shed-${VERSION}`;

async function keep() {
  const cache = await caches.open(NAME);
  await Promise.all(KEPT.map(async address => {
    const answer = await fetch(address, {cache: "reload", credentials: "same-origin"});
    if (!answer.ok || answer.redirected) throw new Error(`${address}: ${answer.status}`); // signed out: keep what was kept before
    await cache.put(address, answer);
  }));
}

addEventListener("install", event => event.waitUntil(keep().then(() => skipWaiting())));

addEventListener("activate", event => event.waitUntil((async () => {
  for (const name of await caches.keys()) {
    if (name.startsWith("ortet-shed-") && name !== NAME) await caches.delete(name);
  }
  await clients.claim();
})()));

addEventListener("fetch", event => {
  const {pathname, origin} = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== location.origin || !KEPT.includes(pathname)) return;
  event.respondWith(caches.open(NAME).then(cache => cache.match(pathname)).then(kept => kept || fetch(event.request)));
});
