// Keeps the work at the table and what it is made of in the browser, so that a reload or a reopened browser
// without the network still opens it. It keeps pages only; entries are kept by the page itself.

const PAGES = "coatwright-pages-1";
const PARTS = "coatwright-parts-1";
const PATIENCE_MS = 4000;
/** Parts of older builds go when so many are there, the oldest first. */
const MOST_PARTS = 80;
/** Only pages of the table are kept: the others show what only the shop knows. */
const KEPT_PAGE = /^\/(table|visits\/[A-Za-z0-9-]{8,40})$/;

self.addEventListener("install", (event) => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", (event) =>
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith("coatwright-") && name !== PAGES && name !== PARTS) await caches.delete(name);
      }
      await self.clients.claim();
    })(),
  ),
);

const good = (answer) => answer.ok && answer.type === "basic" && !answer.redirected;

async function keep(path) {
  const isPage = KEPT_PAGE.test(path);
  try {
    const answer = await fetch(path, { credentials: "same-origin", cache: isPage ? "no-store" : "default" });
    if (!good(answer)) return false;
    const store = await caches.open(isPage ? PAGES : PARTS);
    await store.put(path, answer);
    return true;
  } catch {
    return false;
  }
}

self.addEventListener("message", (event) => {
  const { keep: paths, forget } = event.data ?? {};
  const work = forget
    ? caches.delete(PAGES)
    : Promise.all((paths ?? []).map(keep)).then((kept) => kept.every(Boolean));
  event.waitUntil(work.then((done) => event.ports[0]?.postMessage(done)));
});

const timeout = (ms) => new Promise((_, no) => setTimeout(() => no(new Error("slow")), ms));

async function page(request, path) {
  const store = await caches.open(PAGES);
  const asked = fetch(request).then(async (answer) => {
    if (good(answer)) await store.put(path, answer.clone());
    return answer;
  });
  const had = await store.match(path);
  if (!had) {
    return asked.catch(() => new Response(AWAY, { status: 503, headers: { "content-type": "text/html; charset=utf-8" } }));
  }
  try {
    return await Promise.race([asked, timeout(PATIENCE_MS)]);
  } catch {
    asked.catch(() => {});
    return had;
  }
}

const AWAY = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>The shop cannot be reached</title><main><h1>The shop cannot be reached</h1>
<p>This page was not kept in this browser. Dogs whose work was opened here before still open: go back to their page.
Whatever you wrote there is kept and will be sent when the network is back.</p><p><a href="/table">Table</a></p></main></html>`;

/** Parts have their content's hash in the address: what is here is right for ever. */
async function part(request, path) {
  const store = await caches.open(PARTS);
  const had = await store.match(path);
  if (had) return had;
  const answer = await fetch(request);
  if (good(answer)) {
    await store.put(path, answer.clone());
    const known = await store.keys();
    await Promise.all(known.slice(0, Math.max(0, known.length - MOST_PARTS)).map((k) => store.delete(k)));
  }
  return answer;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate" && KEPT_PAGE.test(url.pathname)) return event.respondWith(page(request, url.pathname));
  if (url.pathname.startsWith("/assets/")) event.respondWith(part(request, url.pathname + url.search));
});
