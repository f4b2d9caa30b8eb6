/** Promises over IndexedDB: a write is done when its transaction has completed on disk. */

import { asStoreError, StoreError } from './errors.js';
import { UPGRADES } from './upgrades.js';

export const NAME = 'fallbook';
const BLOCKED_AFTER_MS = 8000;

/** @returns {Promise<IDBDatabase>} */
function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, UPGRADES.length);
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;
    request.onupgradeneeded = (event) => {
      const tx = /** @type {IDBTransaction} */ (request.transaction);
      for (let step = event.oldVersion; step < UPGRADES.length; step += 1) UPGRADES[step](request.result, tx);
    };
    // Other tabs close on `versionchange`; one that does not must not leave this one waiting in silence.
    request.onblocked = () => {
      timer = setTimeout(() => reject(new StoreError('storage_blocked')), BLOCKED_AFTER_MS);
    };
    request.onerror = () => reject(asStoreError(request.error));
    request.onsuccess = () => {
      clearTimeout(timer);
      resolve(request.result);
    };
  });
}

export class Database {
  /** @type {Promise<IDBDatabase> | undefined} */
  #opening;

  /** @returns {Promise<IDBDatabase>} */
  async #db() {
    this.#opening ??= open().then((db) => {
      const forget = () => { this.#opening = undefined; };
      db.onversionchange = () => { db.close(); forget(); };
      db.onclose = forget; // the browser closed it, for instance when its data was cleared
      return db;
    });
    try {
      return await this.#opening;
    } catch (error) {
      this.#opening = undefined;
      throw error;
    }
  }

  /**
   * Run `work` in one transaction. `work` may use nothing asynchronous but the transaction's own requests.
   * @template T
   * @param {string[]} stores @param {IDBTransactionMode} mode
   * @param {(tx: IDBTransaction, done: (value: T) => void) => void} work
   * @returns {Promise<T>} what `work` gave to `done`, once the transaction has completed
   */
  async run(stores, mode, work) {
    try {
      return await this.#once(await this.#db(), stores, mode, work);
    } catch (error) {
      // A connection that was closed under us is opened once more; nothing has been written by it.
      if (/** @type {any} */ (error)?.name !== 'InvalidStateError') throw asStoreError(error);
      this.#opening = undefined;
      try {
        return await this.#once(await this.#db(), stores, mode, work);
      } catch (again) {
        throw asStoreError(again);
      }
    }
  }

  /**
   * @template T
   * @param {IDBDatabase} db @param {string[]} stores @param {IDBTransactionMode} mode
   * @param {(tx: IDBTransaction, done: (value: T) => void) => void} work
   * @returns {Promise<T>}
   */
  #once(db, stores, mode, work) {
    return new Promise((resolve, reject) => {
      const tx = db.transaction(stores, mode, mode === 'readwrite' ? { durability: 'strict' } : {});
      /** @type {any} */
      let value;
      /** @type {any} */
      let fault;
      tx.oncomplete = () => resolve(value);
      tx.onerror = (event) => { fault ??= /** @type {IDBRequest} */ (event.target).error; };
      tx.onabort = () => reject(fault ?? tx.error ?? new StoreError('storage_failed'));
      try {
        work(tx, (given) => { value = given; });
      } catch (error) {
        fault = error;
        tx.abort();
      }
    });
  }

  /** @param {string} store @param {IDBValidKey} key @returns {Promise<any>} */
  get(store, key) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).get(key);
      request.onsuccess = () => done(request.result);
    });
  }

  /** @param {string} store @param {IDBValidKey} key @returns {Promise<boolean>} */
  has(store, key) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).count(key);
      request.onsuccess = () => done(request.result > 0);
    });
  }

  /** @param {string} store @param {any} value @param {IDBValidKey} [key] @returns {Promise<void>} */
  put(store, value, key) {
    return this.run([store], 'readwrite', (tx) => { tx.objectStore(store).put(value, key); });
  }

  /** @param {string} store @param {IDBValidKey | IDBKeyRange} key @returns {Promise<void>} */
  delete(store, key) {
    return this.run([store], 'readwrite', (tx) => { tx.objectStore(store).delete(key); });
  }

  /** @param {string} store @param {IDBKeyRange} [range] @returns {Promise<any[]>} */
  all(store, range) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).getAll(range);
      request.onsuccess = () => done(request.result);
    });
  }

  /** @param {string} store @param {IDBKeyRange} [range] @returns {Promise<IDBValidKey[]>} */
  keys(store, range) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).getAllKeys(range);
      request.onsuccess = () => done(request.result);
    });
  }
}
