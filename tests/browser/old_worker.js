/* The worker of a release before the app was joined: it kept everything with one request and could answer nothing. */
const PREFIX = 'fallbook-app-';
const CACHE = PREFIX + RELEASE;

self.addEventListener('install', (event) => {
  const requests = PRECACHE.map(([path]) => new Request(path, { cache: 'reload' }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(requests)));
});

self.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  })());
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || /^\/(api|media|office|healthz|sw\.js|sw-module\.js)(\/|$)/.test(url.pathname)) return;
  const isPage = request.mode === 'navigate' && !url.pathname.startsWith('/static/');
  event.respondWith((async () => (await (await caches.open(CACHE)).match(isPage ? '/' : url.pathname)) ?? fetch(request))());
});

self.addEventListener('message', (event) => {
  if (event.data?.type === 'use_it_now') event.waitUntil(self.skipWaiting());
});
