/** A new version waits until the surveyor says "Use it now". The only file that talks to the service worker. */

/** @type {Record<string, boolean>} */
const ALLOWED = { '/sw.js': true, '/sw-module.js': true };

/** @param {string} url @returns {any} */
function scriptUrl(url) {
  if (!ALLOWED[url]) throw new TypeError(url);
  const types = /** @type {any} */ (globalThis).trustedTypes;
  policy ??= types?.createPolicy('sw-url', { createScriptURL: (/** @type {string} */ one) => {
    if (!ALLOWED[one]) throw new TypeError(one);
    return one;
  } });
  return policy ? policy.createScriptURL(url) : url;
}
/** @type {any} */
let policy;

/** @returns {Update} */
export function makeUpdate() {
  return new Update();
}

export class Update {
  events = new EventTarget();
  /** @type {ServiceWorker | undefined} */
  #waiting;
  /** @type {ServiceWorkerRegistration | undefined} */
  #registration;
  #wanted = false;

  /** @returns {boolean} whether a new version waits and has not been put off */
  get available() {
    return this.#waiting !== undefined;
  }

  /** Register the worker and look for new versions now and at each return to the foreground. */
  async start() {
    const workers = navigator.serviceWorker;
    if (!workers) return; // no secure address: the app works while the server is there
    workers.addEventListener('controllerchange', () => {
      if (this.#wanted) location.reload();
    });
    const isModule = 'SyncManager' in globalThis;
    try {
      this.#registration = await workers.register(scriptUrl(isModule ? '/sw-module.js' : '/sw.js'), {
        updateViaCache: 'none', type: isModule ? 'module' : 'classic', scope: '/',
      });
    } catch {
      return; // the server is away or the address is not secure; an installed worker goes on serving
    }
    if (!this.#registration) return; // a browser that was told to have no workers
    this.#watch(this.#registration);
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.check();
    });
  }

  /** Ask the server for a new version. */
  async check() {
    await this.#registration?.update().catch(() => {});
  }

  /** @param {ServiceWorkerRegistration} registration */
  #watch(registration) {
    if (registration.waiting && navigator.serviceWorker.controller) this.#offer(registration.waiting);
    registration.addEventListener('updatefound', () => {
      const coming = registration.installing;
      coming?.addEventListener('statechange', () => {
        if (coming.state === 'installed' && navigator.serviceWorker.controller) this.#offer(coming);
      });
    });
  }

  /** @param {ServiceWorker} worker */
  #offer(worker) {
    this.#waiting = worker;
    this.events.dispatchEvent(new Event('available'));
  }

  /** Let the new version take over and load the page again. */
  useItNow() {
    if (!this.#waiting) return;
    this.#wanted = true;
    this.#waiting.postMessage({ type: 'use_it_now' });
  }

  /** Put it off until the app is next opened; it is offered again then. */
  later() {
    this.#waiting = undefined;
  }
}
