/** When to sync: opened, saved, online, visible again, now and then. All are hints; the answer decides. */

const SAVED_PAUSE_MS = 1500;
const COUNT_PAUSE_MS = 100;
const SLOW_MS = 5 * 60 * 1000;
/** While the server cannot be reached, saves try at most this often. */
const SAVE_SPACING_MS = 15_000;
export const SYNC_TAG = 'fallbook-sync';

/** @param {import('./engine.js').Sync} sync @returns {() => void} stops them all */
export function startTriggers(sync) {
  const stop = new AbortController();
  const { signal } = stop;
  const page = globalThis.document;
  const workers = globalThis.navigator?.serviceWorker;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let saved;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let counting;

  const afterSave = async () => {
    if (sync.busy) {
      // What was saved during a run may not be part of it, and a run with photos can take long.
      saved = setTimeout(afterSave, SAVED_PAUSE_MS);
      return;
    }
    const { unsent, photos_unsent } = sync.status;
    if (unsent + photos_unsent === 0) return;
    if (sync.failures > 0 && sync.sinceLastTryMs < SAVE_SPACING_MS) return;
    await sync.run({ by: 'save' });
  };
  const count = async () => {
    if (sync.busy) return;
    await sync.refresh().catch(() => {}); // a store that cannot be read shows on the screen that reads it
  };
  sync.store.events.addEventListener(
    'changed',
    () => {
      clearTimeout(counting);
      clearTimeout(saved);
      counting = setTimeout(count, COUNT_PAUSE_MS);
      saved = setTimeout(afterSave, SAVED_PAUSE_MS);
    },
    { signal }
  );
  sync.events.addEventListener('status', () => askWorker(sync, workers), { signal });

  globalThis.addEventListener?.('online', () => sync.run({ by: 'online' }), { signal });
  page?.addEventListener(
    'visibilitychange',
    () => {
      if (page.visibilityState === 'visible') sync.run({ by: 'visible' });
    },
    { signal }
  );
  const slow = setInterval(() => {
    if (page?.visibilityState !== 'hidden') sync.run({ by: 'timer' });
  }, SLOW_MS);

  sync.run({ by: 'open' });
  return () => {
    stop.abort();
    clearInterval(slow);
    clearTimeout(saved);
    clearTimeout(counting);
  };
}

/**
 * Some browsers call the worker when there is signal again.
 * @typedef {ServiceWorkerRegistration & {sync?: {register: (tag: string) => Promise<void>}}} MaySync
 */

/** @type {string | undefined} */
let requested;

/**
 * Where the browser can, have the service worker try when there is signal again, even with the app closed.
 * @param {import('./engine.js').Sync} sync @param {ServiceWorkerContainer | undefined} workers
 */
async function askWorker(sync, workers) {
  const { unsent, photos_unsent, last_code, state } = sync.status;
  if (state === 'sending') return;
  const wish = last_code === 'offline' && unsent + photos_unsent > 0 ? 'asked' : undefined;
  if (wish === requested) return;
  requested = wish;
  if (!wish || !workers) return;
  try {
    const registration = /** @type {MaySync} */ (await workers.ready);
    await registration.sync?.register(SYNC_TAG);
  } catch {
    requested = undefined; // not allowed here: the page's own triggers remain
  }
}
