/*
 * The service worker: keeps the app itself on the phone, and never holds survey data.
 * No imports of its own. The server puts lines before this text:
 *
 *   /sw.js         const RELEASE = "<hash of the files below>";
 *                  const PRECACHE = ["/", "/fields.json", "/static/js/main.js", ...];
 *
 *   /sw-module.js  import { runFromWorker } from '/static/js/sync/worker_entry.js';
 *                  const RELEASE = "...";
 *                  const PRECACHE = [...];
 *
 * The page registers /sw-module.js as a module where the browser has background sync, /sw.js elsewhere.
 */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PREFIX = 'fallbook-app-';
const CACHE = PREFIX + RELEASE;
const SHELL = '/';
const NOT_OURS = /^\/(api|media|office|healthz|sw\.js|sw-module\.js)(\/|$)/;

worker.addEventListener('install', (event) => {
  // 'reload' goes past the browser's own cache: half-old files must never make up a new version.
  const requests = PRECACHE.map((path) => new Request(path, { cache: 'reload' }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(requests)));
});

worker.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
    await worker.clients.claim();
  })());
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin || NOT_OURS.test(url.pathname)) return;
  const isPage = request.mode === 'navigate' && !url.pathname.startsWith('/static/');
  event.respondWith(fromCache(isPage ? SHELL : url.pathname, request));
});

/** @param {string} path @param {Request} request @returns {Promise<Response>} */
async function fromCache(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetch(request);
}

worker.addEventListener('message', (event) => {
  // Never by itself: the page may hold a half-filled form.
  if (event.data?.type === 'use_it_now') event.waitUntil(worker.skipWaiting());
});

worker.addEventListener('sync', (/** @type {any} */ event) => {
  if (event.tag !== 'fallbook-sync') return;
  event.waitUntil(typeof runFromWorker === 'function' ? runFromWorker() : askPages());
});

/** @returns {Promise<void>} */
async function askPages() {
  for (const page of await worker.clients.matchAll({ type: 'window' })) page.postMessage({ type: 'sync_now' });
}
