/**
 * The photos of a job that are not on this phone: how many, how large, what is being done about them, and the
 * choice.
 */
import { h, refill } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { bytesOf, bytesText } from '../../ui/format.js';
import { t } from '../../text/words.js';
import { faultWords } from '../../ui/error_words.js';

/** @typedef {import('../../sync/photo_fetch.js').JobPhotos} JobPhotos */

/** @typedef {import('../../ui/types.js').App} App */

/**
 * Follows the fetching; `show` looks again after the records changed. Hidden where there is nothing to say.
 * @param {App} app
 * @param {string} jobId
 * @param {{title?: string}} [how] `title`: among other jobs, and there only while it asks
 * @returns {{element: HTMLElement, show: () => Promise<void>, stop: () => void}}
 */
export function photosCard(app, jobId, { title = '' } = {}) {
  const element = h('section', {
    class: 'card',
    hidden: true,
    'aria-label': t('photos.title'),
    'data-photos-of': jobId
  });
  let turn = 0;
  const show = async () => {
    turn += 1;
    const mine = turn;
    /** @type {JobPhotos} */
    const state = await app.sync.photos.ofJob(jobId);
    if (mine !== turn) return;
    const parts = title && state.plan !== 'ask' ? [] : stateWords(app, jobId, state);
    element.hidden = parts.length === 0;
    refill(element, title ? h('h2', null, title) : null, ...parts);
  };
  const again = () => void show();
  app.sync.photos.events.addEventListener('changed', again);
  return { element, show, stop: () => app.sync.photos.events.removeEventListener('changed', again) };
}

/** @param {App} app @param {string} jobId @param {JobPhotos} state @returns {Array<Node | null>} */
function stateWords(app, jobId, state) {
  const { total, here, missing, missing_bytes, absent, damaged } = state;
  if (here === total) return [];
  const values = { n: missing.length, size: bytesText(missing_bytes) };
  const take = button(t('photos_here.take'), {
    tone: 'main-act',
    onclick: () => void app.sync.photos.take(jobId)
  });
  const leave = button(t('photos_here.leave'), { onclick: () => void app.sync.photos.leave(jobId) });
  return [
    h('p', null, h('strong', null, t('photos_here.count', { here, n: total }))),
    ...(state.fetching ? progress(state) : missing.length ? choice(state, values, take, leave) : []),
    absent ? h('p', null, t('photos_here.absent', { n: absent })) : null,
    damaged ? h('p', { role: 'status' }, t('photos_here.damaged', { n: damaged })) : null
  ];
}

/** @param {JobPhotos} state */
function progress({ bytes_done, bytes_total }) {
  const words = t('photos_here.fetching', { size: bytesOf(bytes_done, bytes_total) });
  return [
    h('p', { class: 'num' }, words),
    h('progress', { max: bytes_total || 1, value: bytes_done, 'aria-label': t('photos_here.progress') })
  ];
}

/**
 * @param {JobPhotos} state
 * @param {{n: number, size: string}} values
 * @param {HTMLElement} take
 * @param {HTMLElement} leave
 */
function choice(state, values, take, leave) {
  const { plan, code, missing_bytes: need, free_bytes: free } = state;
  if (plan === 'leave') return [h('p', null, t('photos_here.left', values)), take];
  if (plan === 'wait') return [h('p', null, t('photos_here.wait', values)), take];
  if (code === 'no_room') {
    const words = free
      ? t('photos_here.no_room', { free: bytesText(free), need: bytesText(need) })
      : t('photos_here.full');
    return [h('p', { role: 'status' }, words), keys(take, leave)];
  }
  if (plan === 'ask') {
    return [
      h('p', null, t('photos_here.ask', values), state.metered ? ` ${t('photos_here.metered')}` : ''),
      h('p', { class: 'soft' }, t('photos_here.why')),
      keys(take, leave)
    ];
  }
  const why = code === 'offline' ? t('kept.no_signal') : state.message ? faultWords(code, state.message) : '';
  return [
    h('p', null, t('photos_here.coming', values)),
    why ? h('p', { role: 'status' }, why) : null,
    why ? keys(take, leave) : null
  ];
}

/** @param {...HTMLElement} some */
function keys(...some) {
  return h('div', { class: 'keys' }, ...some);
}
