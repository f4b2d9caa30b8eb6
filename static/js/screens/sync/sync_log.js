/** The last attempts to sync, newest first, in words. */
import { h } from '../../ui/elements.js';
import { bytesText, fixed, listed, when } from '../../ui/format.js';
import { readLog } from '../../sync/sync_log.js';
import { t } from '../../text/words.js';
import { faultWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */

/**
 * @param {App} app
 * @param {boolean} open whether it was unfolded before
 * @returns {Promise<HTMLElement | null>}
 */
export async function syncLog(app, open) {
  const log = await readLog(app.store);
  if (log.length === 0) return null;
  const rows = [...log]
    .reverse()
    .map((one) =>
      h(
        'li',
        { class: `attempt attempt-${one.state === 'sent' ? 'good' : 'bad'}` },
        h('p', { class: 'strong num' }, listed([when(one.at), by(one)])),
        h('p', null, came(one)),
        h('p', { class: 'soft num' }, moved(one))
      )
    );
  return h(
    'details',
    { class: 'sync-log', 'data-key': 'sync-log', open },
    h('summary', null, t('sync_log.title', { n: log.length })),
    h('p', { class: 'soft' }, t('sync_log.why')),
    h('ul', { class: 'plain-list' }, ...rows)
  );
}

/** @param {import('../../sync/sync_log.js').Attempt} one @returns {string} */
function by({ by: trigger }) {
  return t(`sync_log.by_${trigger}`);
}

/** @param {import('../../sync/sync_log.js').Attempt} one @returns {string} */
function came({ state, code, message }) {
  if (state === 'sent') return t('sync_log.agreed');
  if (state === 'offline') return t('sync_log.offline');
  return t('sync_log.failed', { why: faultWords(code ?? '', message).replace(/\.$/, ''), code: code ?? '' });
}

/** @param {import('../../sync/sync_log.js').Attempt} one @returns {string} */
function moved({ sent, received, setAside, photos, bytes, waiting, took_ms: tookMs }) {
  return listed([
    t('sync_log.moved', { sent, received, size: bytesText(bytes), s: fixed(Math.max(0, tookMs) / 1000, 1) }),
    photos ? t('sync_log.photos', { n: photos }) : '',
    setAside ? t('sync_log.aside', { n: setAside }) : '',
    waiting ? t('sync_log.waiting', { n: waiting }) : ''
  ]);
}
