/** A record or job that this phone does not hold. */
import { t } from '../text/en.js';

export class GoneError extends Error {
  /** @param {string} [message] */
  constructor(message = t('page.gone_why')) {
    super(message);
    this.name = 'GoneError';
  }
}

/** The view of a job that must be here. @param {any} app @param {string} jobId @returns {Promise<any>} */
export async function jobView(app, jobId) {
  const view = await app.store.job(jobId);
  if (!view?.job) throw new GoneError(t('page.job_gone'));
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
