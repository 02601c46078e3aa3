/// <reference lib="webworker" />
// The service worker, kept by hand: it holds the shell of one version and nothing else. Records and rounds
// live in IndexedDB; the API is never cached here. A new version waits until the page says so, so that no
// form is lost.

const worker = self as unknown as ServiceWorkerGlobalScope;
const CACHE = 'leyfold-__VERSION__';
const FILES = '__FILES__' as unknown as string[];

/** Where a browser knows of routes it gives out the shell by itself, and does not wake this worker for it. */
interface Routing {
  addRoutes?(
    rules: { condition: { urlPattern: { pathname: string; search?: string } }; source: unknown }[],
  ): unknown;
}

worker.addEventListener('install', (event) => {
  const { pathname } = new URL(worker.registration.scope);
  const shell = FILES.map((file) => ({
    condition: { urlPattern: { pathname: new URL(file, worker.registration.scope).pathname, search: '' } },
    source: { cacheName: CACHE },
  }));
  const api = { condition: { urlPattern: { pathname: `${pathname}api/*` } }, source: 'network' };
  (event as Routing).addRoutes?.([api, ...shell]);
  event.waitUntil(
    caches
      .open(CACHE)
      .then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })))),
  );
});

worker.addEventListener('activate', (event) => {
  const old = (name: string) => name.startsWith('leyfold-') && name !== CACHE;
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name))))
      .then(() => worker.clients.claim()),
  );
});

worker.addEventListener('message', (event) => {
  if (event.data === 'take over') void worker.skipWaiting();
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  const scope = new URL(worker.registration.scope);
  if (request.method !== 'GET' || url.origin !== scope.origin) return;
  if (url.pathname.startsWith(`${scope.pathname}api/`)) return;
  const shell = url.pathname === scope.pathname || url.pathname === `${scope.pathname}index.html`;
  if (request.mode === 'navigate' && !shell) return;
  event.respondWith(
    caches
      .open(CACHE)
      .then((cache) => cache.match(shell ? './' : request, { ignoreSearch: shell }))
      .then((kept) => kept ?? fetch(request)),
  );
});
