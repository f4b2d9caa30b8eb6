/** The state of sending, in words, on every screen. Being offline is normal work and looks calm. */
import { h, refill } from './elements.js';
import { icon } from './icons.js';
import { t } from '../text/words.js';
import { faultWords } from './error_words.js';

/** @typedef {import('./types.js').App} App */
/** @typedef {Partial<import('../sync/engine.js').SyncStatus> | undefined} Status   none at first */

/** @param {Status} status @param {boolean} [isLost] and nobody has read of it @returns {string} */
export function statusWords(status, isLost = false) {
  if (status?.counting) return t('status.counting');
  const waiting = (status?.unsent ?? 0) + (status?.photos_unsent ?? 0);
  if (isLost && !waiting && status?.state !== 'sending') return t('status.lost');
  switch (status?.state) {
    case 'sending':
      return status.progress?.total
        ? t('status.sending_of', { done: status.progress.done, total: status.progress.total })
        : t('status.sending');
    case 'failed':
      return waiting ? t('status.to_send', { n: waiting }) : t('status.failed');
    case 'unsent':
      return waiting ? t('status.to_send', { n: waiting }) : t('status.all_sent');
    default:
      return waiting ? t('status.to_send', { n: waiting }) : t('status.all_sent');
  }
}

/** Why the last attempt did not get through, in words; empty when it did or when nothing waits.
 * @param {Status} status @returns {string} */
export function statusReason(status) {
  const waiting = (status?.unsent ?? 0) + (status?.photos_unsent ?? 0);
  if (status?.state === 'sending' || !(status?.state === 'failed' || (waiting && status?.last_code)))
    return '';
  const why =
    status.last_code === 'offline' || !status.last_message
      ? t('status.server_not_reached')
      : faultWords(status.last_code ?? '', status.last_message);
  return t('status.could_not', { why: why.replace(/\.$/, '') });
}

/**
 * The same in two or three words, for the chip; empty where its own words say it.
 * @param {Status} status @param {boolean} [isLost]
 * @returns {string}
 */
export function shortReason(status, isLost = false) {
  if (!statusReason(status) || statusWords(status, isLost) === t('status.failed')) return '';
  return t(!status?.last_code || status.last_code === 'offline' ? 'status.no_server' : 'status.failed_short');
}

/** @param {Status} status @param {boolean} isLost @returns {string} */
function iconOf(status, isLost) {
  if (status?.counting) return 'wait';
  if (status?.state === 'sending') return 'send';
  if (isLost) return 'alert';
  const waiting = (status?.unsent ?? 0) + (status?.photos_unsent ?? 0);
  return waiting || status?.state === 'failed' ? 'wait' : 'sent';
}

/** @param {App} app @returns {{element: HTMLElement, stop: () => void}} */
export function statusChip(app) {
  const element = h('a', { class: 'chip', href: '/outbox' });
  const show = () => {
    const { status } = app.sync;
    const { isLost } = app.store;
    const reason = statusReason(status);
    const why = shortReason(status, isLost);
    refill(
      element,
      icon(iconOf(status, isLost)),
      h('span', { class: 'unseen' }, t('status.outbox')),
      h(
        'span',
        { class: 'chip-words' },
        statusWords(status, isLost),
        why ? h('span', { class: 'chip-why', 'aria-hidden': 'true' }, why) : null
      ),
      reason ? h('span', { class: 'unseen' }, t('value.then', { words: reason })) : null
    );
  };
  show();
  const gone = new AbortController();
  app.sync.events.addEventListener('status', show, gone);
  app.store.events.addEventListener('lost', show, gone);
  app.store.events.addEventListener('loss_read', show, gone);
  return { element, stop: () => gone.abort() };
}
