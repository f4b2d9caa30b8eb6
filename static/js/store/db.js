/** Promises over IndexedDB: a write is done when its transaction has completed on disk. */

import { asStoreError, StoreError } from './errors.js';
import { LEFT, openDatabase } from './open.js';
import { UPGRADES } from './upgrades.js';

/**
 * What each store of the database holds. Of drafts, and of what is kept under a name, only whoever put it
 * there knows what it is.
 * @typedef {object} Rows
 * @property {import('./job_view.js').Entry} entries
 * @property {import('./entry_rows.js').AsideRow} aside
 * @property {import('./photo_rows.js').PhotoRow} photos
 * @property {import('./photo_parts.js').Part} photo_parts
 * @property {import('./away_rows.js').AwayRow} away
 * @property {import('./pages.js').PageRow} pages
 * @property {any} drafts
 * @property {any} meta
 */
/** @typedef {keyof Rows} StoreName */

export const NAME = 'fallbook';
export const MARK = 'device_id'; // among the rows of meta
const LOOK_AFTER_MS = 300;
/**
 * `relaxed`: written, for what may be lost with the battery.
 * @typedef {IDBTransactionMode | 'relaxed'} Mode
 * @type {Object<string, [IDBTransactionMode, IDBTransactionOptions?]>}
 */
const HOW = {
  readonly: ['readonly', {}],
  readwrite: ['readwrite', { durability: 'strict' }],
  relaxed: ['readwrite', { durability: 'relaxed' }]
};

export class Database {
  /** @type {Promise<IDBDatabase> | undefined} */
  #opening;
  /** @type {Set<IDBTransaction>} those that may still ask for more */
  #asking = new Set();
  /** @type {WeakSet<IDBTransaction>} */
  #givenUp = new WeakSet();
  /** Whose phone it is: another database than the one that was opened first does not say so. */
  mark = '';
  lost = false;
  /** Room was short since the app was opened. */
  short = false;
  /** The browser found a damaged database and made this one in its place. */
  thrownAway = false;
  /** Told once, when the database was deleted under the app. @type {() => void} */
  onlost = () => undefined;

  constructor() {
    globalThis.addEventListener?.('pagehide', () => this.#leave());
  }

  /**
   * A page that is left may be put to sleep with a transaction under way, and WebKit lets the next page wait
   * for it without end. What reads, or has not written yet, is given up and done again should the page come
   * back; what was sent off goes on.
   */
  #leave() {
    for (const tx of this.#asking) {
      this.#givenUp.add(tx);
      try {
        tx.abort();
      } catch {
        // it had just ended
      }
    }
    const opening = this.#opening;
    this.#opening = undefined;
    void opening?.then(
      (db) => db.close(),
      () => undefined
    );
  }

  /** @returns {Promise<IDBDatabase>} */
  async #db() {
    if (this.lost) throw new StoreError('storage_lost');
    const thrownAway = () => {
      this.thrownAway = true;
    };
    this.#opening ??= openDatabase(NAME, UPGRADES, { store: 'meta', thrownAway }).then(async (db) => {
      const forget = () => {
        this.#opening = undefined;
        if (this.mark) setTimeout(() => void this.has('meta', MARK).catch(() => undefined), LOOK_AFTER_MS);
      };
      db.onversionchange = () => {
        db.close();
        forget();
      };
      db.onclose = forget; // the browser closed it, for instance when its data was cleared
      if (this.mark && (await markOf(db)) !== this.mark) this.#isLost(db);
      return db;
    });
    const mine = this.#opening;
    try {
      return await mine;
    } catch (error) {
      if (this.#opening === mine) this.#opening = undefined;
      throw error;
    }
  }

  /** What is here now is not what was saved: write nothing into it. @param {IDBDatabase} db */
  #isLost(db) {
    db.close();
    const first = !this.lost;
    this.lost = true;
    if (first) this.onlost();
    throw new StoreError('storage_lost');
  }

  /**
   * Run `work` in one transaction. `work` may use nothing asynchronous but the transaction's own requests.
   * @template T
   * @param {StoreName[]} stores @param {Mode} mode
   * @param {(tx: IDBTransaction, done: (value: T) => void) => void} work
   * @returns {Promise<T>} what `work` gave to `done`, once the transaction has completed
   */
  async run(stores, mode, work) {
    for (let reopened = false; ; ) {
      try {
        return await this.#once(await this.#db(), stores, mode, work);
      } catch (error) {
        if (await this.#madeRoom(error)) continue;
        if (error === LEFT) {
          await shownAgain();
        } else if (!reopened && /** @type {Error | undefined} */ (error)?.name === 'InvalidStateError') {
          reopened = true; // the connection was closed under us: nothing has been written by it
          this.#opening = undefined;
        } else {
          throw asStoreError(error);
        }
      }
    }
  }

  /**
   * Pages (pages.js) go first where room is short: they can be made again.
   * @param {unknown} error @returns {Promise<boolean>} whether it is worth another attempt
   */
  async #madeRoom(error) {
    if (this.short || asStoreError(error).code !== 'storage_full') return false;
    this.short = true;
    try {
      if ((await this.keys('pages')).length === 0) return false;
      await this.write(['pages'], (tx) => tx.objectStore('pages').clear());
      return true;
    } catch {
      return false;
    }
  }

  /**
   * The same for work that asks for all it wants to write at once. It is sent to the disk there and then, and
   * gets there even if the page goes away in the meantime.
   * @param {StoreName[]} stores
   * @param {(tx: IDBTransaction) => void} work
   * @returns {Promise<void>}
   */
  write(stores, work) {
    return this.run(stores, 'readwrite', (tx) => {
      work(tx);
      this.nothingMore(tx);
    });
  }

  /** The transaction has asked for all that it wants. @param {IDBTransaction} tx */
  nothingMore(tx) {
    if (!tx.commit) return; // browsers before 2021: it ends by itself a moment later
    tx.commit();
    this.#asking.delete(tx);
  }

  /**
   * @template T
   * @param {IDBDatabase} db @param {StoreName[]} stores @param {Mode} mode
   * @param {(tx: IDBTransaction, done: (value: T) => void) => void} work
   * @returns {Promise<T>}
   */
  #once(db, stores, mode, work) {
    return new Promise((resolve, reject) => {
      const tx = db.transaction(stores, ...HOW[mode]);
      /** @type {T} */
      let value;
      /** @type {unknown} */
      let fault;
      this.#asking.add(tx);
      tx.oncomplete = () => {
        this.#asking.delete(tx);
        resolve(value);
      };
      tx.onerror = (event) => {
        fault ??= /** @type {IDBRequest} */ (event.target).error;
      };
      tx.onabort = () => {
        this.#asking.delete(tx);
        reject(this.#givenUp.has(tx) ? LEFT : (fault ?? tx.error ?? new StoreError('storage_failed')));
      };
      try {
        work(tx, (given) => {
          value = given;
        });
      } catch (error) {
        fault = error;
        tx.abort();
      }
    });
  }

  /**
   * @template {StoreName} S @param {S} store @param {IDBValidKey} key
   * @returns {Promise<Rows[S] | undefined>}
   */
  get(store, key) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).get(key);
      request.onsuccess = () => done(request.result);
    });
  }

  /** @param {StoreName} store @param {IDBValidKey} key @returns {Promise<boolean>} */
  has(store, key) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).count(key);
      request.onsuccess = () => done(request.result > 0);
    });
  }

  /**
   * @template {StoreName} S @param {S} store @param {Rows[S]} value @param {IDBValidKey} [key]
   * @returns {Promise<void>}
   */
  put(store, value, key) {
    return this.write([store], (tx) => {
      tx.objectStore(store).put(value, key);
    });
  }

  /** @param {StoreName} store @param {IDBValidKey | IDBKeyRange} key @returns {Promise<void>} */
  delete(store, key) {
    return this.write([store], (tx) => {
      tx.objectStore(store).delete(key);
    });
  }

  /**
   * @template {StoreName} S @param {S} store @param {IDBKeyRange} [range]
   * @returns {Promise<Rows[S][]>}
   */
  all(store, range) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).getAll(range);
      request.onsuccess = () => done(request.result);
    });
  }

  /** @param {StoreName} store @param {IDBKeyRange} [range] @returns {Promise<IDBValidKey[]>} */
  keys(store, range) {
    return this.run([store], 'readonly', (tx, done) => {
      const request = tx.objectStore(store).getAllKeys(range);
      request.onsuccess = () => done(request.result);
    });
  }
}

/** @param {IDBDatabase} db @returns {Promise<unknown>} */
function markOf(db) {
  return new Promise((resolve, reject) => {
    const request = db.transaction(['meta']).objectStore('meta').get(MARK);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @returns {Promise<void>} once the page is there again, if ever */
function shownAgain() {
  return new Promise((resolve) => {
    const heard = new AbortController();
    for (const kind of ['pageshow', 'visibilitychange']) {
      globalThis.addEventListener(
        kind,
        () => {
          if (document.visibilityState !== 'visible') return;
          heard.abort();
          resolve();
        },
        { signal: heard.signal }
      );
    }
  });
}
