/*
 * Carries the app's files, so that it opens without a network. Each version has a cache of its
 * own and is used whole or not at all. Records are none of its business: they lie in the
 * database, which no version change touches, and it never answers for /api/.
 */
{
  const worker = /** @type {ServiceWorkerScope} */ (/** @type {unknown} */ (self));
  const PAGE = "/field/";
  const CACHE = `fieldleaf-${APP.version}`;

  worker.addEventListener("install", (event) => {
    // The browser refuses what is not the very file: some networks answer with pages of their own.
    const fresh = Object.entries(APP.files).map(
      ([file, integrity]) => new Request(file, { cache: "reload", integrity }),
    );
    event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)));
    // Browsers that can, answer for what is surely in the cache without starting this worker.
    const files = [PAGE, `${PAGE}*.:type(js|css|svg|png)`];
    const routes = files.map((pathname) => ({
      condition: { urlPattern: { pathname, search: "" } },
      source: { cacheName: CACHE },
    }));
    event.addRoutes?.(routes);
  });

  // A new version waits until the person takes it.
  worker.addEventListener("message", (event) => {
    if (event.data === "use-new-version") worker.skipWaiting();
  });

  worker.addEventListener("activate", (event) => {
    event.waitUntil(dropOldCaches().then(() => worker.clients.claim()));
  });

  worker.addEventListener("fetch", (event) => {
    const { request } = event;
    const url = new URL(request.url);
    const isOurs = url.origin === location.origin && url.pathname.startsWith(PAGE);
    if (!isOurs || request.method !== "GET") return;
    event.respondWith(answer(request.mode === "navigate" ? PAGE : request));
  });

  /** @param {Request | string} wanted @returns {Promise<Response>} */
  async function answer(wanted) {
    const cache = await caches.open(CACHE);
    return (await cache.match(wanted)) ?? fetch(wanted);
  }

  async function dropOldCaches() {
    const names = await caches.keys();
    const old = names.filter((name) => name.startsWith("fieldleaf-") && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
  }
}
