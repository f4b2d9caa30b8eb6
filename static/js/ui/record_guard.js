/** A record or job that this phone does not hold. */
import { t } from '../text/words.js';

/** @typedef {import('./types.js').App} App */
/** @typedef {import('./types.js').HeldJob} HeldJob */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('./types.js').JobView} JobView */
/** @template {import('./types.js').Kind} K @typedef {import('./types.js').RecordOf<K>} RecordOf */

export class GoneError extends Error {
  /** @param {string} [jobId] where it is the job itself that is not here */
  constructor(jobId = '') {
    super(t(jobId ? 'page.job_gone' : 'page.gone_why'));
    this.name = 'GoneError';
    this.jobId = jobId;
  }
}

/** The view of a job that must be here. @param {App} app @param {string} jobId @returns {Promise<HeldJob>} */
export async function jobView(app, jobId) {
  const view = await app.store.job(jobId);
  if (!view?.job) throw new GoneError(jobId);
  return /** @type {HeldJob} */ (view);
}

/** @template {Kind} K @param {JobView} view @param {K} kind @param {string} id @returns {RecordOf<K>} */
export function mustRecord(view, kind, id) {
  const record = view.record(kind, id);
  if (!record) throw new GoneError();
  return record;
}

/** @param {JobView} view @returns {string} */
export function jobTitle(view) {
  return view.job?.fields.title ?? t('jobs.untitled');
}
