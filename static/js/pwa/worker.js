/**
 * The page's way to its service worker: registers it and asks it. No other module does. Also says which
 * further scripts this page may run.
 */

const ANSWER_WITHIN_MS = 3000;
const SCRIPT = '/sw.js';
/** @typedef {{createScriptURL: (url: string) => string}} UrlPolicy */
/** @typedef {{createPolicy: (name: string, rules: UrlPolicy) => UrlPolicy}} TrustedTypes */

/** @type {UrlPolicy | undefined} */
let policy;

/**
 * The address of a script that this page may run: its worker, and what the page itself names as the second
 * part of the app. No other is given out.
 * @param {string} address
 * @returns {string} of a type of its own where the browser has one
 */
export function trustedScript(address) {
  const types = /** @type {{trustedTypes?: TrustedTypes}} */ (globalThis).trustedTypes;
  policy ??= types?.createPolicy('sw-url', {
    createScriptURL: (/** @type {string} */ url) => {
      if (url !== SCRIPT && url !== document.getElementById('script')?.dataset.second)
        throw new TypeError(url);
      return url;
    }
  });
  return policy ? policy.createScriptURL(address) : address;
}

/** Whether this page may have a worker at all: not from an address that is not secure. @returns {boolean} */
export function workersAllowed() {
  return Boolean(navigator.serviceWorker);
}

/**
 * Register the worker, or look for a newer one where it is registered.
 * @returns {Promise<ServiceWorkerRegistration | undefined>} undefined: the browser was told to have none;
 *   rejects when the server is away
 */
export async function registerWorker() {
  return navigator.serviceWorker.register(trustedScript(SCRIPT), { updateViaCache: 'imports', scope: '/' });
}

/** The release that this page is of. @returns {string} */
export function pageRelease() {
  return document.documentElement.dataset.release ?? '';
}

/**
 * Ask a worker and wait for its answer.
 * @template T
 * @param {ServiceWorker} worker
 * @param {string} type
 * @param {number} [withinMs]
 * @returns {Promise<T | undefined>} undefined when it does not answer: an older one knows other questions
 */
export function askWorker(worker, type, withinMs = ANSWER_WITHIN_MS) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    const done = (/** @type {unknown} */ answer) => {
      clearTimeout(timer);
      port1.close();
      resolve(/** @type {T | undefined} */ (answer));
    };
    const timer = setTimeout(() => done(undefined), withinMs);
    port1.onmessage = (event) => done(event.data);
    worker.postMessage({ type }, [port2]);
  });
}
