/** An address of a job that is not on this phone: what the server knows of it, and the way to take it. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { jobTaker } from './job_take.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */

/**
 * @param {import('../../ui/page.js').Page} page
 * @param {{job: string, path: string}} params
 * @param {App} app
 */
export async function mount(page, params, app) {
  const taker = jobTaker(app, params.job);
  const words = h('p', { role: 'status' });
  let stopped = false;

  /** @param {Node[]} more */
  const draw = (...more) => page.body(words, ...more, button(t('page.to_jobs'), { href: '/', tone: 'wide' }));
  const known = async () =>
    (await app.sync.others()).find((/** @type {{job_id: string}} */ one) => one.job_id === params.job);
  const look = async () => {
    words.textContent = t('away.looking');
    draw();
    const { state, message } = await app.sync.run({ by: 'open' });
    const found = await known();
    if (stopped) return;
    const away = state !== 'sent';
    if (found) {
      const title = found.title || t('jobs.untitled');
      words.textContent = t(away ? 'away.listed' : 'away.on_server', { title });
      draw(taker.key, taker.status);
      return;
    }
    words.textContent = state === 'failed' && message ? message : t(away ? 'away.offline' : 'away.nowhere');
    draw(button(t('failure.again'), { tone: 'wide', onclick: () => void look() }));
  };
  /** It has come: the address is that of a screen now. @param {Event} event */
  const changed = async (event) => {
    if (/** @type {CustomEvent} */ (event).detail?.jobId !== params.job || stopped) return;
    if ((await app.store.job(params.job)).job && !stopped) await app.go(params.path, { replace: true });
  };

  page.head({ title: t('page.gone'), back: '/' });
  app.store.events.addEventListener('changed', changed);
  void look();
  return () => {
    stopped = true;
    app.store.events.removeEventListener('changed', changed);
  };
}
