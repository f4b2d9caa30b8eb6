/** Rows of entries and of marks "set aside": how they are read and written. */

import { CODE } from '../records/erasure.js';
import { entryId } from '../records/fold.js';
import { awayOr, lifeKey, onlyIfHere } from './away_rows.js';
import { EntriesBeyond } from './entries_beyond.js';
import { actsKey } from './erasing.js';
import { dropPages, readPages } from './page_rows.js';
import { LOOSE } from './pages.js';

/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./db.js').Database} Database */
/**
 * @typedef {{job_id: string, writer: string, number: number, code: string, reasons: Object<string, string[]>,
 *   dismissed: boolean, was?: {code: string, reasons: Object<string, string[]>, dismissed: boolean}}}
 *   AsideRow
 * `was`: why it had been set aside before it was erased
 */
/**
 * `life`: another each time the job was put away; `fewer`: than are known.
 * @typedef {{entries: Entry[], aside: AsideRow[], acts: import('../records/erasure.js').Act[], life: string,
 *   fewer: boolean}} Found
 */

const AT_ONCE = 2000;

/** @param {string} jobId @returns {IDBKeyRange} */
export function rowsOf(jobId) {
  return IDBKeyRange.bound([jobId], [jobId, []]); // an array sorts after every text
}

/** @param {Database} db @returns {Promise<string[]>} ids of all jobs with entries here */
export function knownJobs(db) {
  return db.run(['entries'], 'readonly', (tx, done) => {
    /** @type {string[]} */
    const found = [];
    const walk = tx.objectStore('entries').openKeyCursor();
    walk.onsuccess = () => {
      const cursor = walk.result;
      if (!cursor) return done(found);
      const jobId = /** @type {string[]} */ (cursor.key)[0];
      found.push(jobId);
      return cursor.continue([jobId, []]);
    };
  });
}

/**
 * Begin a view that nobody holds yet with the pages of its job, if there are any.
 * @param {Database} db @param {JobView} view @param {string} release of the app; empty where it has none
 * @returns {Promise<void>}
 */
export async function beginWithPages(db, view, release) {
  const pages = release ? await readPages(db, view.jobId, release) : undefined;
  if (pages) beginWith(view, pages);
}

/** @param {JobView} view that is empty @param {import('./pages.js').Pages} pages */
export function beginWith(view, pages) {
  const { writers, counts, marks, life } = pages.about;
  view.pages = pages;
  view.paged = pages.total;
  view.life = life;
  for (const [at, writer] of writers.entries()) view.byWriter.set(writer, new Array(counts[at]));
  for (const [id, code] of marks) view.aside.set(id, /** @type {AsideRow} */ ({ code }));
}

/**
 * Bring a view up to the disk: reads only what it lacks, unless the marks have changed. The view changes in
 * one go, so that nobody who holds it ever meets it half filled.
 * @param {Database} db
 * @param {JobView} view
 * @returns {Promise<void>}
 */
export async function loadJob(db, view) {
  const begun = view.fold.isEmpty ? view.pages : undefined;
  let { entries, aside, acts, life, fewer } = await read(db, view.jobId, view.vector());
  const wrong = begun !== undefined && (fewer || !begun.knows(acts));
  const others =
    life !== view.life || aside.length < view.aside.size || aside.some((row) => isNew(view, row));
  if ((view.behind || others || wrong) && view.byWriter.size > 0) {
    // An entry set aside leaves the records, one that was erased may come back, a job may be put away: fold
    // again.
    if (begun) await dropPages(db, view.jobId);
    ({ entries, aside, acts, life } = await read(db, view.jobId, {}));
    view.reset();
  }
  takeIn(view, { entries, aside, acts, life });
}

/** @param {JobView} view @param {Omit<Found, 'fewer'>} found what it lacks, and what stands beside it */
export function takeIn(view, { entries, aside, acts, life }) {
  view.acts = acts;
  view.life = life;
  view.places = undefined;
  for (const row of aside) view.aside.set(entryId(row), row);
  view.open(view.pages?.of(LOOSE) ?? []);
  for (const entry of entries) {
    if (entry.number === (view.byWriter.get(entry.writer)?.length ?? 0) + 1) view.add(entry);
  }
}

/** @param {JobView} view @param {AsideRow} row @returns {boolean} whether a mark is not known as it is */
function isNew(view, row) {
  return view.aside.get(entryId(row))?.code !== row.code;
}

/**
 * @param {Database} db @param {string} jobId @param {Object<string, number>} have
 * @returns {Promise<Found>}
 */
function read(db, jobId, have) {
  return db.run(['entries', 'aside', 'meta'], 'readonly', (tx, done) => {
    /** @type {Found} */
    const found = { entries: [], aside: [], acts: [], life: '', fewer: false };
    const life = tx.objectStore('meta').get(lifeKey(jobId));
    life.onsuccess = () => {
      found.life = life.result ?? '';
    };
    const acts = tx.objectStore('meta').get(actsKey(jobId));
    acts.onsuccess = () => {
      found.acts = acts.result ?? [];
    };
    const marks = tx.objectStore('aside').getAll(rowsOf(jobId));
    marks.onsuccess = () => {
      found.aside = marks.result;
    };
    const rows = tx.objectStore('entries');
    if (Object.keys(have).length === 0) {
      readAll(rows, jobId, found, done);
      return;
    }
    new EntriesBeyond(rows, jobId, have, found).read(() => done(found));
  });
}

/**
 * Read a job of which nothing is known: by its writers it would take two questions for each of thousands.
 * @param {IDBObjectStore} rows
 * @param {string} jobId
 * @param {Found} found
 * @param {(found: Found) => void} done
 * @param {IDBValidKey[]} [after] the last one read
 */
function readAll(rows, jobId, found, done, after = [jobId]) {
  const some = rows.getAll(IDBKeyRange.bound(after, [jobId, []], true), AT_ONCE);
  some.onsuccess = () => {
    /** @type {Entry[]} */
    const entries = some.result;
    for (const entry of entries) found.entries.push(entry);
    if (entries.length < AT_ONCE) return done(found);
    const { writer, number } = entries[entries.length - 1];
    return readAll(rows, jobId, found, done, [jobId, writer, number]);
  };
}

/**
 * Write entries, marks and a photo's bytes of one job: all or nothing.
 * @param {Database} db @param {Array<Entry | import('./job_view.js').ErasedEntry>} entries
 * @param {Array<{jobId: string, id: string, code: string, reasons: Object<string, string[]>}>} marks
 * @param {{photo?: import('./photo_rows.js').PhotoRow, back?: boolean}} [how] `back`: the job is coming back
 * @returns {Promise<void>} rejects with job_put_away where the job has been put away meanwhile
 */
export async function writeEntries(db, entries, marks, { photo, back = false } = {}) {
  const jobId = entries[0]?.job_id ?? marks[0].jobId;
  /** @type {import('./db.js').StoreName[]} */
  const stores = ['entries', 'away'];
  if (marks.length) stores.push('aside');
  if (photo) stores.push('photos');
  await db
    .write(stores, (tx) => {
      if (back) tx.objectStore('away').delete(jobId);
      else onlyIfHere(tx, jobId);
      const rows = tx.objectStore('entries');
      for (const entry of entries) rows.add(entry);
      for (const { id, code, reasons } of marks) {
        const at = id.lastIndexOf(':');
        const key = { job_id: jobId, writer: id.slice(0, at), number: Number(id.slice(at + 1)) };
        tx.objectStore('aside').put({ ...key, code, reasons, dismissed: code === CODE });
      }
      if (photo) tx.objectStore('photos').put(photo);
    })
    .catch(async (error) => {
      throw await awayOr(db, jobId, error);
    });
}

/**
 * Mark an entry that was set aside as dealt with.
 * @param {Database} db @param {string} jobId @param {string} id @returns {Promise<void>}
 */
export function dismissMark(db, jobId, id) {
  const at = id.lastIndexOf(':');
  const key = [jobId, id.slice(0, at), Number(id.slice(at + 1))];
  return db.run(['aside'], 'readwrite', (tx) => {
    const rows = tx.objectStore('aside');
    const request = rows.get(key);
    request.onsuccess = () => {
      if (request.result) rows.put({ ...request.result, dismissed: true });
      db.nothingMore(tx);
    };
  });
}
