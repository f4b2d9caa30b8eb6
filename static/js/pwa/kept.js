/** Whether the app is on this phone, whole, so that it opens with no signal; and how far it has come. */

import { askWorker, registerWorker, workersAllowed } from './worker.js';

/**
 * none         not begun, or not known yet
 * keeping      files are coming in
 * waiting      broke off; tries again by itself
 * ready        the active worker read every file back and each was right
 * unsupported  this browser or this address keeps nothing
 * @typedef {'none' | 'keeping' | 'waiting' | 'ready' | 'unsupported'} Phase
 */

/**
 * no_signal    the server was not reached
 * server       it answered with an error
 * phone_full   no room
 * damaged      a file was not as it should be; it is fetched again
 * new_release  the server has moved on; the next look brings the newer app
 * not_secure   the address is not https
 * no_worker    the browser has no service workers, or was told to use none
 * @typedef {'' | 'no_signal' | 'server' | 'phone_full' | 'damaged' | 'new_release' | 'not_secure' |
 *   'no_worker'} Reason
 */

/**
 * @typedef {{phase: Phase, kept_bytes: number, total_bytes: number, kept_files: number, total_files: number,
 *   reason: Reason}} KeptState
 */

const FIRST_WAIT_MS = 2000;
const MAX_WAIT_MS = 60_000;
const READ_WITHIN_MS = 30_000;

/** @returns {Kept} */
export function makeKept() {
  return new Kept();
}

export class Kept {
  events = new EventTarget();
  /** @type {KeptState} */
  #state = { phase: 'none', kept_bytes: 0, total_bytes: 0, kept_files: 0, total_files: 0, reason: '' };
  /** @type {ServiceWorkerRegistration | undefined} */
  #registration;
  /** @type {WeakSet<EventTarget>} */
  #followed = new WeakSet();
  #waitMs = FIRST_WAIT_MS;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;

  /** @returns {KeptState} */
  get state() {
    return this.#state;
  }

  /** Begin, once the first screen is there. */
  async start() {
    if (!workersAllowed()) {
      this.#become({ phase: 'unsupported', reason: globalThis.isSecureContext ? 'no_worker' : 'not_secure' });
      return;
    }
    navigator.serviceWorker.addEventListener('message', (event) => this.#heard(event.data));
    navigator.serviceWorker.addEventListener('controllerchange', () => void this.#ask());
    addEventListener('online', () => void this.retry());
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible' && this.#state.phase !== 'ready') void this.retry();
    });
    await this.retry();
  }

  /** Try again now, without waiting for the next turn. */
  async retry() {
    if (this.#state.phase === 'unsupported') return;
    clearTimeout(this.#timer);
    try {
      const known = await navigator.serviceWorker.getRegistration('/');
      const busy = known?.active ?? known?.installing ?? known?.waiting;
      const registration = busy ? known : await registerWorker();
      if (!registration) {
        this.#become({ phase: 'unsupported', reason: 'no_worker' });
        return;
      }
      this.#follow(registration);
      registration.installing?.postMessage({ type: 'retry' });
      await this.#ask();
    } catch {
      this.#brokenOff('no_signal');
    }
  }

  /** @param {ServiceWorkerRegistration} registration */
  #follow(registration) {
    this.#registration = registration;
    this.#watch(registration.installing);
    if (this.#followed.has(registration)) return;
    this.#followed.add(registration);
    registration.addEventListener('updatefound', () => this.#watch(registration.installing));
  }

  /** @param {ServiceWorker | null} worker one that is coming in */
  #watch(worker) {
    if (!worker || this.#followed.has(worker)) return;
    this.#followed.add(worker);
    worker.addEventListener('statechange', () => {
      if (worker.state === 'activated') void this.#ask();
      if (worker.state === 'redundant' && !this.#registration?.active)
        this.#brokenOff(this.#state.reason || 'no_signal');
    });
  }

  /**
   * What the worker has now: the active one answers for what opens with no signal, a first one that is coming
   * in for how far it is.
   */
  async #ask() {
    const active = this.#registration?.active;
    const worker = active ?? this.#registration?.installing;
    if (!worker) return;
    const found = await askWorker(worker, 'kept', READ_WITHIN_MS);
    if (found) this.#heard({ ...found, installing: worker !== active });
  }

  /** @param {Partial<KeptState> & {type?: string, installing?: boolean}} message */
  #heard(message) {
    if (message?.type !== 'kept') return;
    // a newer app is coming in: this one is kept all the same
    if (message.installing && this.#registration?.active) return;
    const { kept_bytes, total_bytes, kept_files, total_files, reason } = message;
    const phase = message.installing && message.phase === 'ready' ? 'keeping' : message.phase;
    this.#become({ phase, kept_bytes, total_bytes, kept_files, total_files, reason });
    if (phase === 'waiting') this.#later();
    else clearTimeout(this.#timer);
    if (phase === 'ready') this.#waitMs = FIRST_WAIT_MS;
  }

  /** @param {Reason} reason */
  #brokenOff(reason) {
    this.#become({ phase: 'waiting', reason });
    this.#later();
  }

  #later() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.retry(), this.#waitMs);
    this.#waitMs = Math.min(MAX_WAIT_MS, 2 * this.#waitMs);
  }

  /** @param {Partial<KeptState>} now */
  #become(now) {
    const next = { ...this.#state, ...now };
    if (JSON.stringify(next) === JSON.stringify(this.#state)) return;
    this.#state = next;
    this.events.dispatchEvent(new Event('changed'));
  }
}
