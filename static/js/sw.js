/*
 * The service worker: keeps the app itself on the phone, and never holds survey data.
 * The server puts lines before this text (webapp/web/app_files.py):
 *
 *   const RELEASE = "<hash of all of the app>";
 *   const PRECACHE = [["/", "<sha-256 in base64>", <bytes>], ...];
 *   const SMALL = {"/static/icons/mark.svg": ["<media type>", "<text>"], ...}; travel in here, which saves a
 *   request each
 *   const APP = "<address of the app's script>";                                it holds the exchange too
 *   const SECOND = "<address of its second part>";
 *
 * A release goes into a cache of its own, file by file as each arrives, so that a cut loses nothing that came
 * before it. It takes over only when every file has been read back and has the right hash; until then the
 * release before it, if any, goes on serving alone.
 */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PREFIX = 'fallbook-app-';
const CACHE = PREFIX + RELEASE;
const SHELL = '/';
const LATER = '/handbook.json'; // kept too, but fetched when the app is ready
const OWN = new Set(PRECACHE.map(([path]) => path));
const TOTAL_BYTES = PRECACHE.reduce((sum, [, , bytes]) => sum + bytes, 0);
const NOT_OURS = /^\/(api|media|office|healthz|static|tables|sw\.js|sw-module\.js)(\/|$)/;
const OFFICE = /^\/office(\/|$)/;
const PATIENCE_MS = 120_000; // for one file
// a browser ends an install after five minutes
const WAITS_MS = [1000, 2000, 4000, 8000, 15_000, 30_000, 60_000, 60_000];
/** @type {Set<string>} paths that were read back and were right, in this life of the worker */
const right = new Set();
/** @type {() => void} */
let wake = () => undefined;
/** @type {Promise<void> | undefined} */
let repairing;
/** @type {Promise<unknown> | undefined} several pages or looks may ask for it at once */
let fetchingLater;
/** @type {{phase: string, reason: string}} */
let now = { phase: 'keeping', reason: '' };

worker.addEventListener('install', (event) =>
  event.waitUntil(
    (async () => {
      await addRoutes(event);
      await keepAll(true);
      // a script can be had later only if it was imported by now
      if ('sync' in worker.registration) await importExchange();
      // the same app under another address
      if (worker.registration.active) await fetchLater(); // of an update: no start is to be without it
      if ((await releaseOf(worker.registration.active)) === RELEASE) await worker.skipWaiting();
    })()
  )
);

worker.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await otherCaches()) await caches.delete(name);
      await worker.clients.claim();
    })()
  );
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin) return;
  if (request.mode === 'navigate') {
    if (OFFICE.test(url.pathname))
      // the app says that it is away
      event.respondWith(fetch(request).catch(() => fromCache(SHELL, request)));
    else if (!NOT_OURS.test(url.pathname)) event.respondWith(fromCache(SHELL, request));
  } else if (OWN.has(url.pathname)) {
    event.respondWith(fromCache(url.pathname, request));
  } else if (url.pathname === LATER) {
    event.respondWith(later());
  }
});

worker.addEventListener('message', (event) => {
  const { type } = event.data ?? {};
  const answer = (/** @type {any} */ value) => event.ports[0]?.postMessage(value);
  // Never by itself: the page may hold a half-filled form.
  if (type === 'use_it_now') event.waitUntil(worker.skipWaiting());
  if (type === 'retry') wake();
  if (type === 'release') answer(RELEASE);
  if (type === 'kept') event.waitUntil(readBack().then(answer).then(fetchLater));
});

worker.addEventListener('sync', (/** @type {any} */ event) => {
  if (event.tag !== 'fallbook-sync') return;
  event.waitUntil((async () => exchange().runFromWorker())());
});

/**
 * Where the browser knows how, the first page and the files come out of the cache without the worker being
 * woken: on a cold start that is a third of the time. What is not in the cache is asked of the network, as
 * below.
 * @param {any} event
 * @returns {Promise<void>}
 */
async function addRoutes(event) {
  const source = { cacheName: CACHE };
  await event
    .addRoutes?.([
      { condition: { urlPattern: { pathname: SHELL, search: '' }, requestMode: 'navigate' }, source },
      ...PRECACHE.map(([pathname]) => pathname)
        .filter((pathname) => pathname !== SHELL)
        .map((pathname) => ({ condition: { urlPattern: { pathname } }, source }))
    ])
    .catch(() => undefined);
}

/** @param {string} path @param {Request} request @returns {Promise<Response>} */
async function fromCache(path, request) {
  return (await caches.match(path, { cacheName: CACHE, ignoreVary: true })) ?? fetch(request);
}

/** The exchange, which stands in the app's own script, so that it is neither kept nor fetched twice. */
function exchange() {
  const place = /** @type {any} */ (worker);
  if (!place.fallbook) {
    const policy = place.trustedTypes?.createPolicy('sw-url', { createScriptURL: () => APP });
    worker.importScripts(policy ? policy.createScriptURL(APP) : APP);
  }
  return place.fallbook.module('sync/worker_entry.js');
}

/** @returns {Promise<void>} */
async function importExchange() {
  for (const waitMs of WAITS_MS) {
    try {
      exchange();
      return;
    } catch (error) {
      // a worker of an earlier release runs this as a module, for a moment
      if (/** @type {any} */ (error)?.name !== 'NetworkError') return;
      await pause(waitMs);
    }
  }
  throw new Error('no_signal');
}

/** What the app opens without: out of the cache, or fetched and kept. @returns {Promise<Response>} */
async function later() {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(LATER, { ignoreVary: true });
  if (kept) return kept;
  const found = await fetch(LATER, { cache: 'no-cache' });
  // no room: fetched again next time
  if (found.ok) await cache.put(LATER, found.clone()).catch(() => undefined);
  return found;
}

/** Once the app itself is here; without a signal it is tried at the next start. */
async function fetchLater() {
  if (now.phase !== 'ready') return;
  fetchingLater ??= later()
    .catch(() => undefined)
    .finally(() => {
      fetchingLater = undefined;
    });
  await fetchingLater;
}

/** @returns {Promise<string[]>} the caches of other releases */
async function otherCaches() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
}

/**
 * @param {ServiceWorker | null} active
 * @returns {Promise<string>} empty where there is none, or one that cannot say
 */
function releaseOf(active) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => resolve(String(event.data));
    setTimeout(() => resolve(''), active ? 2000 : 0);
    active?.postMessage({ type: 'release' }, [port2]);
  });
}

/**
 * Bring in what is missing, patiently.
 * @param {boolean} installing
 * @returns {Promise<void>} rejects when it gave up for now
 */
async function keepAll(installing) {
  for (const waitMs of [0, ...WAITS_MS]) {
    if (waitMs) await pause(waitMs);
    await tell('keeping', '', installing);
    const reasons = await Promise.all(
      (await missing()).map(([path, sha256]) => keepOne(path, sha256, installing))
    );
    right.clear();
    const left = await missing(); // all of it is read back
    const reason = reasons.find(Boolean) ?? (left.length ? 'damaged' : '');
    await tell(reason ? 'waiting' : 'ready', reason, installing);
    if (!reason) return;
    if (reason === 'new_release') break; // what this one is made of is not to be had any more
  }
  throw new Error(now.reason);
}

/** @param {number} waitMs @returns {Promise<void>} earlier when the page says so */
function pause(waitMs) {
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, waitMs);
    wake = () => {
      clearTimeout(timer);
      resolve();
    };
  });
}

/** What is not in the cache, or not as it should be. @returns {Promise<typeof PRECACHE>} */
async function missing() {
  const cache = await caches.open(CACHE);
  const found = await Promise.all(
    PRECACHE.map(async ([path, sha256]) => {
      if (right.has(path)) return true;
      const kept = await cache.match(path, { ignoreVary: true });
      if (!kept || (await hashOf(kept)) !== sha256) return false;
      right.add(path);
      return true;
    })
  );
  return PRECACHE.filter((_, i) => !found[i]);
}

/**
 * Keep one file: from the release before, from what the page has just fetched, or from the server.
 * @param {string} path
 * @param {string} sha256
 * @param {boolean} installing
 * @returns {Promise<string>} why not, empty when it is kept
 */
async function keepOne(path, sha256, installing) {
  let reason = '';
  for (const from of sourcesOf(path)) {
    const found = await from(path).catch(() => undefined);
    const hash = found?.ok ? await hashOf(found.clone()).catch(() => '') : '';
    if (!found || (found.ok && !hash)) {
      // not there, or broken off half-way
      if (from === fromServer || from === pastBrowser) reason = 'no_signal';
    } else if (!found.ok) {
      reason = found.status === 404 ? 'new_release' : 'server';
    } else if (hash !== sha256) {
      reason = 'new_release';
    } else {
      try {
        await (await caches.open(CACHE)).put(path, found);
        right.add(path);
        await tell('keeping', '', installing);
        return '';
      } catch {
        return 'phone_full';
      }
    }
  }
  return reason;
}

/**
 * @param {string} path
 * @returns {Array<(path: string) => Promise<Response | undefined>>} in their order
 */
function sourcesOf(path) {
  if (SMALL[path]) return [fromHere];
  return path === SECOND ? [fromBefore, pastBrowser] : [fromBefore, fromBrowser, fromServer];
}

/** @param {string} path @returns {Promise<Response | undefined>} */
async function fromBefore(path) {
  for (const name of await otherCaches()) {
    const kept = await caches.match(path, { cacheName: name, ignoreVary: true });
    if (kept) return kept;
  }
  return undefined;
}

/** @param {string} path @returns {Promise<Response>} */
async function fromHere(path) {
  const [type, text] = SMALL[path];
  return new Response(text, { headers: { 'Content-Type': type, 'X-Content-Type-Options': 'nosniff' } });
}

/**
 * What the page has fetched is in the browser's own cache; what has no hash in its name is asked about.
 * @param {string} path
 */
async function fromBrowser(path) {
  return fetch(path, {
    cache: path.startsWith('/static/app/') ? 'default' : 'no-cache',
    signal: AbortSignal.timeout(PATIENCE_MS)
  });
}

/**
 * The page may be fetching the second part at this moment. A fetch that shares the browser's cache with
 * another one that breaks off waits for minutes.
 * @param {string} path
 */
async function pastBrowser(path) {
  return fetch(path, { cache: 'no-store', signal: AbortSignal.timeout(PATIENCE_MS) });
}

/** @param {string} path */
async function fromServer(path) {
  return fetch(path, { cache: 'reload', signal: AbortSignal.timeout(PATIENCE_MS) });
}

/** @param {Response} response @returns {Promise<string>} SHA-256 of the body in base64 */
async function hashOf(response) {
  const digest = await crypto.subtle.digest('SHA-256', await response.arrayBuffer());
  return btoa(String.fromCharCode(...new Uint8Array(digest)));
}

/** Read every file back and mend what is missing. @returns {Promise<object>} what the page shows */
async function readBack() {
  const installing = worker.registration.active === null;
  if (!installing && !repairing) {
    right.clear();
    now = (await missing()).length ? { phase: 'keeping', reason: '' } : { phase: 'ready', reason: '' };
    if (now.phase === 'keeping')
      repairing = keepAll(false)
        .catch(() => undefined)
        .finally(() => {
          repairing = undefined;
        });
  }
  return state(now.phase, now.reason, installing);
}

/** @param {string} phase @param {string} reason @param {boolean} installing */
async function tell(phase, reason, installing) {
  now = { phase, reason };
  const message = state(phase, reason, installing);
  for (const page of await worker.clients.matchAll({ type: 'window', includeUncontrolled: true }))
    page.postMessage(message);
}

/** @param {string} phase @param {string} reason @param {boolean} installing */
function state(phase, reason, installing) {
  const kept = PRECACHE.filter(([path]) => right.has(path));
  return {
    type: 'kept',
    release: RELEASE,
    installing,
    phase,
    reason,
    kept_files: kept.length,
    total_files: PRECACHE.length,
    kept_bytes: kept.reduce((sum, [, , bytes]) => sum + bytes, 0),
    total_bytes: TOTAL_BYTES
  };
}
