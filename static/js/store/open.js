/** Opening the phone's database: within a limit, or with a word on what stands in the way. */

import { asStoreError, StoreError } from './errors.js';

export const OPEN_WITHIN_MS = 5000;
const TICK_MS = 200;
const UPGRADE_WITHIN_MS = 60_000; // it has begun, and a phone with much on it may take its time
/** What an opening or a transaction ends with when the page is left meanwhile. */
export const LEFT = Symbol('the page was left');

/** @typedef {(db: IDBDatabase, tx: IDBTransaction) => void} Upgrade */

/**
 * Resolves once the database is open and has answered a first question: one that opens may still wait,
 * without end, for what a page that is gone has left undone.
 * @param {string} name
 * @param {Upgrade[]} upgrades
 * @param {{store: string, withinMs?: number, thrownAway?: () => void}} first the store that is asked;
 *   `thrownAway` is told where the browser says that what was here was damaged
 * @returns {Promise<IDBDatabase>} rejects with storage_blocked, storage_no_answer, LEFT or what the browser
 *   says
 */
export function openDatabase(name, upgrades, { store, withinMs = OPEN_WITHIN_MS, thrownAway }) {
  return new Promise((resolve, reject) => {
    const attempt = new Attempt(resolve, reject, withinMs);
    const request = indexedDB.open(name, upgrades.length);
    request.onblocked = () => {
      attempt.blocked = true;
    };
    request.onerror = () => attempt.fail(request.error);
    request.onupgradeneeded = (event) => {
      if (/** @type {{dataLoss?: string}} */ (event).dataLoss === 'total') thrownAway?.(); // Chromium's own
      attempt.tx = /** @type {IDBTransaction} */ (request.transaction);
      if (attempt.over) return attempt.tx.abort(); // nobody waits for it any more; the next opening does it
      attempt.limit(UPGRADE_WITHIN_MS);
      globalThis.dispatchEvent?.(new Event('fallbook-working'));
      for (let step = event.oldVersion; step < upgrades.length; step += 1)
        upgrades[step](request.result, attempt.tx);
      return undefined;
    };
    request.onsuccess = () => attempt.ask(request.result, store);
  });
}

class Attempt {
  over = false;
  blocked = false;
  /** @type {IDBTransaction | undefined} */
  tx;
  /** @type {ReturnType<typeof setInterval> | undefined} */
  #clock;
  #left = () => {
    try {
      this.tx?.abort();
    } catch {
      // it had just ended
    }
    this.fail(LEFT);
  };

  /**
   * @param {(db: IDBDatabase) => void} resolve
   * @param {(error: unknown) => void} reject
   * @param {number} withinMs
   */
  constructor(resolve, reject, withinMs) {
    this.resolve = resolve;
    this.reject = reject;
    globalThis.addEventListener?.('pagehide', this.#left);
    this.limit(withinMs);
  }

  /**
   * Counted in ticks, which a busy processor makes fewer: an answer may then be here that nobody has heard.
   * @param {number} ms
   */
  limit(ms) {
    clearInterval(this.#clock);
    let left = ms;
    this.#clock = setInterval(() => {
      left -= TICK_MS;
      if (left < 0) this.fail(new StoreError(this.blocked ? 'storage_blocked' : 'storage_no_answer'));
    }, TICK_MS);
  }

  /** @param {unknown} error */
  fail(error) {
    this.#end();
    this.reject(error === LEFT ? LEFT : asStoreError(error));
  }

  /** The first question. @param {IDBDatabase} db @param {string} store */
  ask(db, store) {
    if (this.over) return db.close(); // an answer after all, and nobody waits for it
    db.onversionchange = () => db.close();
    try {
      this.tx = db.transaction([store], 'readonly');
      this.tx.onabort = () => this.fail(this.tx?.error ?? new StoreError('storage_failed'));
      this.tx.objectStore(store).count(0).onsuccess = () => {
        if (this.over) return db.close();
        this.#end();
        return this.resolve(db);
      };
    } catch (error) {
      this.fail(error);
    }
    return undefined;
  }

  #end() {
    this.over = true;
    clearInterval(this.#clock);
    globalThis.removeEventListener?.('pagehide', this.#left);
  }
}
