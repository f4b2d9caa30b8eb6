/**
 * Rows of the pages of jobs (pages.js). A copy is written under a name of its own, part by part, and counts
 * once its last row is there; whatever changes what it was made from takes all rows of the job away, and with
 * them the name, so that nobody goes on writing what was erased meanwhile.
 */

import { pagesOf } from './pages.js';

/** @typedef {import('./db.js').Database} Database */
/** @typedef {import('./pages.js').PageRow} PageRow */

const NAMES = ''; // before every name

/** @param {string} jobId @param {string} [name] @returns {IDBKeyRange} */
function rowsOf(jobId, name) {
  const from = name === undefined ? [jobId] : [jobId, name];
  return IDBKeyRange.bound(from, [...from, []]); // an array sorts after every text and number
}

/** @param {IDBTransaction} tx over `pages` and more @param {string} jobId */
export function dropPagesIn(tx, jobId) {
  tx.objectStore('pages').delete(rowsOf(jobId));
}

/** @param {Database} db @param {string} jobId @returns {Promise<void>} */
export async function dropPages(db, jobId) {
  await db.write(['pages'], (tx) => dropPagesIn(tx, jobId)).catch(() => undefined); // they are not believed
}

/**
 * @param {Database} db @param {string} jobId @param {string} release of the app
 * @returns {Promise<import('./pages.js').Pages | undefined>} none that are to be believed: none
 */
export async function readPages(db, jobId, release) {
  /** @type {PageRow[] | undefined} */
  const rows = await db
    .run(['pages'], 'readonly', (tx, /** @type {(rows: PageRow[]) => void} */ done) => {
      const store = tx.objectStore('pages');
      const names = store.get([jobId, NAMES, 0]);
      names.onsuccess = () => {
        const whole = names.result?.whole;
        if (!whole) return done([]);
        const found = store.getAll(rowsOf(jobId, whole));
        found.onsuccess = () => done(found.result);
        return undefined;
      };
    })
    .catch(() => undefined); // the bytes lie in files of their own, which may be lost
  if (rows?.length === 0) return undefined;
  const pages = rows && pagesOf(rows, jobId, release);
  if (!pages) await dropPages(db, jobId);
  return pages;
}

/**
 * Take a name for a copy that is made from now on.
 * @param {Database} db @param {string} jobId @param {string} name @returns {Promise<void>}
 */
export function beginPages(db, jobId, name) {
  return db.run(['pages'], 'relaxed', (tx) => {
    const store = tx.objectStore('pages');
    const names = store.get([jobId, NAMES, 0]);
    names.onsuccess = () => {
      store.put({ job_id: jobId, name: NAMES, at: 0, whole: names.result?.whole, made: name });
      db.nothingMore(tx);
    };
  });
}

/**
 * Write a row of it; with the first one, which is written last, it counts, and what was before goes.
 * @param {Database} db @param {PageRow} row @returns {Promise<boolean>} false: it is not wanted any more
 */
export function putPage(db, row) {
  const { job_id: jobId, name } = row;
  return db.run(['pages'], 'relaxed', (tx, done) => {
    const store = tx.objectStore('pages');
    const names = store.get([jobId, NAMES, 0]);
    names.onsuccess = () => {
      const wanted = names.result?.made === name;
      if (wanted && row.at === 0) {
        dropPagesBeside(store, jobId, name);
        store.put({ job_id: jobId, name: NAMES, at: 0, whole: name });
      }
      if (wanted) store.put(row);
      done(wanted);
      db.nothingMore(tx);
    };
  });
}

/** @param {IDBObjectStore} store @param {string} jobId @param {string} name */
function dropPagesBeside(store, jobId, name) {
  store.delete(IDBKeyRange.bound([jobId], [jobId, name]));
  store.delete(IDBKeyRange.bound([jobId, name, []], [jobId, []]));
}
