/** What stands in place of a screen that is not there or broke, and of an app that could not start. */
import { detailOf, errorWords } from './error_words.js';
import { h } from './elements.js';
import { sentences } from './format.js';
import { button, note } from './page.js';
import { t } from '../text/words.js';

/** @typedef {import('./page.js').Page} Page */
/** @typedef {{name?: string, code?: string} | undefined} Fault   whatever was thrown */
/**
 * What the scripts of the page itself leave there.
 * @typedef {{fallbookWatchdog?: {trouble: (why: string) => boolean}, fallbookSaveKey?: () => Node}} OfPage
 */

/** @param {Page} page @returns {undefined} */
export function missing(page) {
  page.head({ title: t('page.missing'), back: '/' });
  page.body(h('p', null, t('page.missing_why')), button(t('page.to_jobs'), { href: '/', tone: 'wide' }));
}

/** @param {Page} page @param {unknown} error */
export function broken(page, error) {
  const gone = /** @type {Fault} */ (error)?.name === 'GoneError';
  if (!gone) console.error(error);
  page.head({ title: gone ? t('page.gone') : t('page.broken'), back: '/' });
  const words = errorWords(error);
  page.body(
    gone
      ? h('p', null, words)
      : note('fault', h('p', null, t('page.broken_why')), h('p', { class: 'small' }, words)),
    button(t('page.to_jobs'), { href: '/', tone: 'wide' }),
    button(t('page.to_settings'), { href: '/settings', tone: 'wide' })
  );
}

/**
 * The app itself could not start: once more, or say so, and that nothing is lost.
 * @param {HTMLElement} root
 * @param {unknown} error
 */
export function startFailed(root, error) {
  console.error(error);
  const { fallbookWatchdog, fallbookSaveKey } = /** @type {OfPage} */ (globalThis);
  // it has had its time, and says what to do
  const isStorage = /** @type {Fault} */ (error)?.name === 'StoreError';
  if (!isStorage && fallbookWatchdog?.trouble('start_failed')) return;
  document.documentElement.dataset.screen = 'failed';
  const code = /** @type {Fault} */ (error)?.code;
  const isShut = code === 'storage_failed'; // nothing was being saved, and what is on the disk nobody knows
  const words = isShut ? sentences([t('start.shut'), detailOf(error)]) : errorWords(error);
  root.replaceChildren(
    h(
      'main',
      { class: 'main' },
      h('div', { class: 'head' }, h('h1', null, t('start.failed'))),
      h(
        'div',
        { class: 'body' },
        note('fault', h('p', null, words), code ? h('p', { class: 'small' }, code) : null),
        h('p', null, t(isShut ? 'start.shut_why' : 'start.failed_why')),
        h(
          'button',
          { type: 'button', class: 'button main-act action wide', onclick: () => location.reload() },
          t('failure.again')
        ),
        fallbookSaveKey ? fallbookSaveKey() : null
      )
    )
  );
}
