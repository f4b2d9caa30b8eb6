/**
 * What the server can say once more: written down where there is room, and otherwise held as long as the app
 * is open. A full phone is no reason for sending to stop, and after a lost note the exchange is only
 * repeated.
 */

import { StoreError } from './errors.js';

export class Notes {
  /** @type {Map<string, unknown>} */
  #unwritten = new Map();

  /** @param {import('./db.js').Database} db */
  constructor(db) {
    this.db = db;
  }

  /**
   * T is what the one that asks has put there.
   * @template [T=unknown] @param {string} key @returns {Promise<T | undefined>}
   */
  async get(key) {
    return /** @type {T | undefined} */ (this.#unwritten.get(key)) ?? this.db.get('meta', key);
  }

  /** @param {string} key @param {unknown} value @returns {Promise<void>} */
  put(key, value) {
    return this.putAll([[key, value]]);
  }

  /**
   * All or none. What did not fit before is tried again along with it.
   * @param {Array<[key: string, value: unknown]>} given @returns {Promise<void>}
   */
  async putAll(given) {
    const rows = new Map([...this.#unwritten, ...given]);
    try {
      await this.db.write(['meta'], (tx) => {
        for (const [name, one] of rows) tx.objectStore('meta').put(one, name);
      });
    } catch (error) {
      if (!(error instanceof StoreError) || error.code !== 'storage_full') throw error;
      for (const [name, one] of given) this.#unwritten.set(name, one);
      return;
    }
    for (const [name, one] of rows) if (this.#unwritten.get(name) === one) this.#unwritten.delete(name);
  }

  /** @param {string[]} keys that are worth nothing any more @returns {Promise<void>} */
  async drop(keys) {
    for (const key of keys) this.#unwritten.delete(key);
    await this.db.write(['meta'], (tx) => {
      for (const key of keys) tx.objectStore('meta').delete(key);
    });
  }

  /** Another tab may have written since. */
  forget() {
    this.#unwritten.clear();
  }
}
