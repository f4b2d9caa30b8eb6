/** A new version waits until the surveyor says "Use it now". */

import { askWorker, pageRelease, registerWorker, workersAllowed } from './worker.js';

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
    if (!workersAllowed()) return; // no secure address: the app works while the server is there
    navigator.serviceWorker.addEventListener('controllerchange', () => {
      if (this.#wanted) location.reload();
    });
    // With the server away an installed worker goes on serving.
    this.#registration = await registerWorker().catch(() =>
      navigator.serviceWorker.getRegistration('/').catch(() => undefined)
    );
    if (!this.#registration) return;
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
    if (registration.waiting) void this.#offer(registration.waiting);
    registration.addEventListener('updatefound', () => {
      const coming = registration.installing;
      coming?.addEventListener('statechange', () => {
        if (coming.state === 'installed') void this.#offer(coming);
      });
    });
  }

  /**
   * A worker is offered while it waits, if it is of another release than this page: on a first visit neither
   * holds.
   * @param {ServiceWorker} worker
   */
  async #offer(worker) {
    const release = await askWorker(worker, 'release');
    if (release === pageRelease() || worker.state !== 'installed' || !navigator.serviceWorker.controller)
      return;
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
