/** Taking a job of the server onto this phone: the key, and in words what came of it. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { insist, once } from '../../forms/failure.js';
import { t } from '../../text/words.js';
import { faultWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */

/**
 * @param {App} app @param {string} jobId @param {string} [label]
 * @returns {{key: HTMLElement, status: HTMLElement}}
 */
export function jobTaker(app, jobId, label = t('jobs.take')) {
  const status = h('p', { role: 'status', class: 'soft' });
  const take = once(async () => {
    status.textContent = t('jobs.taking');
    const result = await insist(app, { what: t('what.job') }, () => app.sync.takeJob(jobId));
    status.textContent = result ? await words(app, jobId, result) : '';
  });
  return {
    key: button(label, { icon: 'download', tone: 'wide', onclick: take, key: `take-${jobId}` }),
    status
  };
}

/** @param {App} app @param {string} jobId @param {import('../../sync/engine.js').RunResult} result */
async function words(app, jobId, result) {
  if ((await app.store.job(jobId)).job) return t('jobs.taken');
  if (result.state === 'failed') return faultWords(result.code ?? '', result.message);
  return t(result.state === 'sent' ? 'away.nowhere' : 'jobs.take_later');
}
