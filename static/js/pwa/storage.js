/** Room on the phone: ask to keep it at the first save, say so before it runs out. */

import { atMostEvery } from '../ui/live.js';

export const LOW_FROM = 0.8;
const LOOK_EVERY_MS = 1000;

/**
 * @typedef {{used_bytes: number, quota_bytes: number, persisted: boolean, low: boolean, known: boolean}}
 *   StorageState
 */

/** @param {import('../store/store.js').Store} store @param {number} [everyMs] @returns {StorageCare} */
export function makeStorageCare(store, everyMs) {
  return new StorageCare(store, everyMs);
}

export class StorageCare {
  events = new EventTarget();
  #requested = false;
  #low = false;
  #looks = 0;
  #answered = 0;

  /** @param {import('../store/store.js').Store} store @param {number} [everyMs] */
  constructor(store, everyMs = LOOK_EVERY_MS) {
    const look = atMostEvery(() => void this.look(), everyMs);
    store.events.addEventListener('changed', () => {
      this.#askOnce();
      look(); // looking takes the browser longer than a save
    });
  }

  async #askOnce() {
    if (this.#requested) return;
    this.#requested = true;
    await navigator.storage?.persist?.().catch(() => false);
  }

  /** @returns {boolean} whether room was short when last looked at */
  get low() {
    return this.#low;
  }

  /** Look how much room there is, and tell when that has turned; the browser may answer out of turn. */
  async look() {
    this.#looks += 1;
    const look = this.#looks;
    const { low } = await this.state();
    if (look < this.#answered) return;
    this.#answered = look;
    if (low === this.#low) return;
    this.#low = low;
    this.events.dispatchEvent(new Event('changed'));
  }

  /** @returns {Promise<StorageState>} `known` is false where the browser does not tell */
  async state() {
    const estimate = await navigator.storage?.estimate?.().catch(() => undefined);
    const persisted = (await navigator.storage?.persisted?.().catch(() => false)) ?? false;
    const used_bytes = estimate?.usage ?? 0;
    const quota_bytes = estimate?.quota ?? 0;
    const known = quota_bytes > 0;
    return { used_bytes, quota_bytes, persisted, known, low: known && used_bytes >= LOW_FROM * quota_bytes };
  }
}
