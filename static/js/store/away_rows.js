/** Jobs that were put away: the row that is left of each, and what keeps everybody from writing into it. */

import { StoreError } from './errors.js';

/** @typedef {import('./db.js').Database} Database */
/**
 * `photos`: how many went; `at`: when, in UTC; `title`: null where the server no longer lists the job.
 * @typedef {{job_id: string, title: string | null, at: string, entries: number, photos: number}} AwayRow
 */
/** @typedef {AwayRow & {coming: boolean}} AwayLine   `coming`: wanted back as soon as there is a signal */

/** Another at each putting away, so that whoever holds the job in memory reads it again. @param {string} jobId */
export function lifeKey(jobId) {
  return `life:${jobId}`;
}

/**
 * Part of every transaction that writes to a job: it fails if the job has been put away, in whatever tab. It
 * asks nothing, so that nobody waits for an answer.
 * @param {IDBTransaction} tx over `away` and more @param {string} jobId
 */
export function onlyIfHere(tx, jobId) {
  const rows = tx.objectStore('away');
  rows.add({ job_id: jobId });
  rows.delete(jobId);
}

/**
 * @param {Database} db @param {string} jobId
 * @param {unknown} error of a transaction with `onlyIfHere`
 * @returns {Promise<unknown>} what it means
 */
export async function awayOr(db, jobId, error) {
  const { cause } = /** @type {{cause?: {name?: string}}} */ (error ?? {});
  const refused = cause?.name === 'ConstraintError' && (await db.has('away', jobId));
  return refused ? new StoreError('job_put_away') : error;
}

/** @param {unknown} error @returns {boolean} */
export function isAway(error) {
  return error instanceof StoreError && error.code === 'job_put_away';
}

/**
 * Whether a job that was put away is wanted back.
 * @param {Database} db @param {string} jobId @returns {Promise<boolean>}
 */
export function isComing(db, jobId) {
  return db.run(['away', 'meta'], 'readonly', (tx, done) => {
    const row = tx.objectStore('away').count(jobId);
    const list = tx.objectStore('meta').get('followed');
    list.onsuccess = () => done(row.result > 0 && (list.result ?? []).includes(jobId));
  });
}

/**
 * The newest first, under the title that the server lists them by.
 * @param {Database} db @param {import('../sync/wire.js').OtherJob[]} listed @returns {Promise<AwayLine[]>}
 */
export async function awayLines(db, listed) {
  const [rows, list] = await Promise.all([db.all('away'), db.get('meta', 'followed')]);
  const titles = new Map(listed.map(({ job_id, title }) => [job_id, title]));
  const followed = new Set(list ?? []);
  return rows
    .map((row) => ({
      ...row,
      title: titles.get(row.job_id) ?? row.title,
      coming: followed.has(row.job_id)
    }))
    .sort((a, b) => (a.at < b.at ? 1 : -1));
}

/**
 * Forget the titles of jobs that the server lists no more: the office may have erased them.
 * @param {Database} db @param {import('../sync/wire.js').OtherJob[]} listed
 */
export async function forgetTitles(db, listed) {
  const known = new Set(listed.map(({ job_id }) => job_id));
  for (const row of await db.all('away'))
    if (!known.has(row.job_id) && row.title !== null)
      await db.run(['away'], 'readwrite', (tx) => {
        const rows = tx.objectStore('away');
        const held = rows.get(row.job_id);
        held.onsuccess = () => {
          if (held.result) rows.put({ ...held.result, title: null });
          db.nothingMore(tx);
        };
      });
}
