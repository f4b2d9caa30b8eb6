/** A record or job that this phone does not hold. */
import { t } from '../text/words.js';

export class GoneError extends Error {
  /** @param {string} [jobId] where it is the job itself that is not here */
  constructor(jobId = '') {
    super(t(jobId ? 'page.job_gone' : 'page.gone_why'));
    this.name = 'GoneError';
    this.jobId = jobId;
  }
}

/** The view of a job that must be here. @param {any} app @param {string} jobId @returns {Promise<any>} */
export async function jobView(app, jobId) {
  const view = await app.store.job(jobId);
  if (!view?.job) throw new GoneError(jobId);
  return view;
}

/** @param {any} view @param {string} kind @param {string} id @returns {import('./types.js').SurveyRecord} */
export function mustRecord(view, kind, id) {
  const record = view.record(kind, id);
  if (!record) throw new GoneError();
  return record;
}

/** @param {any} view @returns {string} */
export function jobTitle(view) {
  return view.job?.fields.title ?? t('jobs.untitled');
}
