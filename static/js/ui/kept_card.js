/**
 * Whether the app opens with no signal: how far it has come, or why not and what to do. Said ready only when
 * it is.
 */
import { h, refill } from './elements.js';
import { icon } from './icons.js';
import { button, note } from './page.js';
import { bytesOf } from './format.js';
import { t } from '../text/words.js';

/** @typedef {import('../pwa/kept.js').KeptState} KeptState */

/** @typedef {import('./types.js').App} App */

/** @type {Record<string, Parameters<typeof t>[0]>} */
const WAITING = {
  no_signal: 'kept.no_signal',
  server: 'kept.server',
  phone_full: 'kept.phone_full',
  new_release: 'kept.new_release',
  damaged: 'kept.damaged'
};

/**
 * Follows `app.kept`.
 * @param {App} app
 * @param {{whole?: boolean}} [how] `whole`: in the settings, where there is room for more words
 * @returns {{element: HTMLElement, stop: () => void}}
 */
export function keptCard(app, { whole = false } = {}) {
  const words = h('div', { class: 'kept-words' });
  // A reader hears each step once, and not every kilobyte.
  const status = h('p', { class: 'unseen', role: 'status' });
  const element = h('div', { class: 'kept' }, words, status);
  let step = '';
  const show = () => {
    /** @type {KeptState} */
    const state = app.kept.state;
    // its room is there from the start: nothing moves under a thumb
    element.classList.toggle('kept-unknown', state.phase === 'none' && !whole);
    refill(words, ...parts(app, state, whole));
    const now = `${state.phase} ${state.reason}`;
    if (now === step) return;
    step = now;
    status.textContent = state.phase === 'keeping' ? t('kept.begun') : '';
  };
  show();
  app.kept.events.addEventListener('changed', show);
  return { element, stop: () => app.kept.events.removeEventListener('changed', show) };
}

/** @param {App} app @param {KeptState} state @param {boolean} whole @returns {Array<Node | null>} */
function parts(app, state, whole) {
  if (state.phase === 'ready') {
    return [
      h('p', { class: 'kept-ready', role: 'status' }, icon('sent'), h('span', null, t('kept.ready'))),
      whole
        ? h(
            'p',
            { class: 'soft' },
            t('kept.ready_whole', {
              n: state.total_files,
              size: bytesOf(state.total_bytes, state.total_bytes)
            })
          )
        : null
    ];
  }
  if (state.phase === 'keeping') return [progress(state)];
  if (state.phase === 'waiting') {
    return [
      state.total_bytes ? progress(state) : null,
      note('notice', h('p', { role: 'status' }, t(WAITING[state.reason] ?? 'kept.no_signal'))),
      button(t('kept.again'), { tone: 'wide', onclick: () => void app.kept.retry() })
    ];
  }
  if (state.phase === 'unsupported') {
    /** @type {Array<Parameters<typeof t>[0]>} */
    const why =
      state.reason === 'not_secure'
        ? ['kept.not_secure', 'kept.not_secure_do']
        : ['kept.no_worker', 'kept.no_worker_do'];
    return [note('notice', ...why.map((one) => h('p', null, t(one))))];
  }
  return [h('p', { class: 'soft' }, t('kept.looking'))];
}

/** @param {KeptState} state */
function progress({ kept_bytes, total_bytes }) {
  const words = total_bytes ? t('kept.keeping', { size: bytesOf(kept_bytes, total_bytes) }) : t('kept.begun');
  return h(
    'div',
    { class: 'stack-s' },
    h('p', { class: 'num' }, words),
    h('progress', { max: total_bytes || 1, value: kept_bytes, 'aria-label': t('kept.begun') })
  );
}
