/** One line for each job on this phone, as the list of jobs shows it. */

import { photosHere } from './photos_here.js';

/** @typedef {import('./job_view.js').SurveyRecord} SurveyRecord */
/**
 * @typedef {{job_id: string, record: import('../records/fold.js').RecordOf<'job'>, unsent: number, aside:
 *   number, conflicts: number, photos:
 *   number, photos_here: number}} JobLine
 */

/** @param {import('./job_store.js').JobStore} store @returns {Promise<JobLine[]>} not removed first, newest first */
export async function jobLines(store) {
  const [held, jobIds] = await Promise.all([store.photosHeld(), store.known()]);
  const lines = (await Promise.all(jobIds.map((jobId) => lineOf(store, jobId, held)))).filter(
    (line) => line !== undefined
  );
  return lines.sort(
    (a, b) => Number(a.record.removed) - Number(b.record.removed) || (a.job_id < b.job_id ? 1 : -1)
  );
}

/**
 * @param {import('./job_store.js').JobStore} store
 * @param {string} jobId
 * @param {Set<unknown>} held hashes of the photos that are here
 * @returns {Promise<JobLine | undefined>}
 */
async function lineOf(store, jobId, held) {
  const [view, server] = await Promise.all([store.job(jobId), store.serverVector(jobId)]);
  const record = view.job;
  if (!record) return undefined;
  const unsent = view.countBeyond(server);
  const aside = [...view.aside.values()].filter((row) => !row.dismissed).length;
  const { total: photos, here: photos_here } = await photosHere(store, jobId, held);
  return { job_id: jobId, record, unsent, aside, conflicts: view.conflicts().length, photos, photos_here };
}
