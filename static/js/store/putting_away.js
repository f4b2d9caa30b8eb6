/** A job off this phone: all that the server was proved to have goes at once, and one line stays. */

import { CODE } from '../records/erasure.js';
import { heldOf } from '../records/vectors.js';
import { lifeKey } from './away_rows.js';
import { rowsOf } from './entry_rows.js';
import { dropPagesIn } from './page_rows.js';
import { dropPartsIn } from './photo_parts.js';
import { previewKey } from './photo_previews.js';

/** @typedef {import('./db.js').Database} Database */
/** @typedef {import('./db.js').StoreName} StoreName */
/** @typedef {import('./away_rows.js').AwayRow} AwayRow */
/** @typedef {import('../records/vectors.js').Vector} Vector */
/**
 * What the server proved a moment ago: `have`, the vector; `photos`, hashes of pictures of this job alone.
 * `marks`: of how many entries this phone knows that they are set aside.
 * @typedef {{have: Vector, photos: string[], marks: number}} Proved
 */

/** @type {StoreName[]} */
const ALL = ['entries', 'aside', 'drafts', 'photos', 'photo_parts', 'meta', 'away', 'pages'];

/** Of what a form on a job has kept. @param {string} jobId @returns {IDBKeyRange} */
function draftsOf(jobId) {
  return IDBKeyRange.bound(`/jobs/${jobId}`, `/jobs/${jobId}\uffff`);
}

/**
 * Look once more, and let the job go, in one transaction: whatever is not as it was proved stays, all of
 * it. On a phone without one free byte nothing can be written, so that the job goes without its line; the
 * server lists it.
 * @param {Database} db @param {AwayRow} row @param {Proved} proved @param {string} life a new one
 * @returns {Promise<boolean>} false: it is not as it was proved, and nothing went
 */
export async function writeAway(db, row, proved, life) {
  const { job_id: jobId } = row;
  const note = (/** @type {IDBTransaction} */ tx) => {
    tx.objectStore('away').put(row);
    tx.objectStore('meta').put(life, lifeKey(jobId));
  };
  try {
    return await letGo(db, jobId, proved, (tx, followed) => {
      if (followed.includes(jobId))
        tx.objectStore('meta').put(
          followed.filter((one) => one !== jobId),
          'followed'
        );
      note(tx);
    });
  } catch (error) {
    if (/** @type {{code?: string}} */ (error).code !== 'storage_full') throw error;
    const gone = await letGo(db, jobId, proved, (tx) => tx.objectStore('meta').delete('followed'));
    if (gone) await db.write(['away', 'meta'], note).catch(() => undefined);
    return gone;
  }
}

/**
 * @param {Database} db @param {string} jobId @param {Proved} proved
 * @param {(tx: IDBTransaction, followed: string[]) => void} note
 * @returns {Promise<boolean>}
 */
function letGo(db, jobId, proved, note) {
  return db.run(ALL, 'readwrite', (tx, done) => {
    const drafts = tx.objectStore('drafts').count(draftsOf(jobId));
    const list = tx.objectStore('meta').get('followed');
    const marks = tx.objectStore('aside').getAll(rowsOf(jobId));
    const end = (/** @type {boolean} */ sound) => {
      if (sound) {
        dropJob(tx, jobId, proved.photos);
        note(tx, list.result ?? []);
      }
      done(sound);
      db.nothingMore(tx);
    };
    marks.onsuccess = () => {
      const known = marks.result.filter(({ code }) => code !== CODE).length;
      if (drafts.result > 0 || known !== proved.marks) return end(false);
      return lastOnes(tx, jobId, proved.have, end);
    };
  });
}

/**
 * Whether the last entry of each writer is one that was proved.
 * @param {IDBTransaction} tx @param {string} jobId @param {Vector} have @param {(sound: boolean) => void} end
 */
function lastOnes(tx, jobId, have, end) {
  const walk = tx.objectStore('entries').openKeyCursor(rowsOf(jobId), 'prev');
  walk.onsuccess = () => {
    const cursor = walk.result;
    if (!cursor) return end(true);
    const [, writer, number] = /** @type {[string, string, number]} */ (cursor.key);
    if (number > heldOf(have, writer)) return end(false);
    return cursor.continue([jobId, writer]); // shorter, so before the first of its entries
  };
}

/** @param {IDBTransaction} tx @param {string} jobId @param {string[]} photos */
function dropJob(tx, jobId, photos) {
  for (const name of ['entries', 'aside']) tx.objectStore(name).delete(rowsOf(jobId));
  dropPagesIn(tx, jobId);
  const meta = tx.objectStore('meta');
  for (const sha256 of photos) {
    tx.objectStore('photos').delete(sha256);
    for (const key of [previewKey(sha256), `photo_note:${sha256}`]) meta.delete(key);
    dropPartsIn(tx, sha256);
  }
  for (const key of [`server:${jobId}`, `since:${jobId}`, `setting:photos:${jobId}`]) meta.delete(key);
}
