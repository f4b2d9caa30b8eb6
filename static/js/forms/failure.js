/** A save that failed stays on the screen until somebody has dealt with it. */
import { h } from '../ui/elements.js';
import { button } from '../ui/page.js';
import { saveToFile } from '../files/handover_out.js';
import { t } from '../text/words.js';
import { errorWords } from '../ui/error_words.js';

/** @typedef {import('../ui/types.js').App} App */

/** Lets a second tap pass unnoticed while the first is still at work.
 * @template {unknown[]} A @param {(...args: A) => Promise<void>} work
 * @returns {(...args: A) => Promise<void>} */
export function once(work) {
  let busy = false;
  return async (...args) => {
    if (busy) return;
    busy = true;
    try {
      await work(...args);
    } finally {
      busy = false;
    }
  };
}

/**
 * Does the work; while it fails, asks what to do.
 * @template T
 * @param {App} app
 * @param {{what: string, jobId?: string | null, typed?: () => unknown}} about
 * @param {() => Promise<T>} work
 * @returns {Promise<T | undefined>} undefined when the person closed the panel without success
 */
export async function insist(app, about, work) {
  for (;;) {
    try {
      return await work();
    } catch (error) {
      console.warn('not saved', error);
      if (!(await askAgain(app, about, error))) return undefined;
    }
  }
}

/**
 * @param {App} app
 * @param {{what: string, jobId?: string | null, typed?: () => unknown}} about
 * @param {unknown} error
 * @returns {Promise<boolean>}
 */
function askAgain(app, about, error) {
  return new Promise((resolve) => {
    const status = h('p', { role: 'status' });
    const before = /** @type {HTMLElement | null} */ (document.activeElement);
    /** @param {boolean} again */
    const close = (again) => {
      panel.remove();
      before?.focus();
      resolve(again);
    };
    const toFile = async () => {
      try {
        status.textContent = t('failure.file_made', {
          name: await saveToFile(app, about.jobId ?? null, about.typed?.())
        });
      } catch (failed) {
        status.textContent = t('failure.file_failed', { why: errorWords(failed) });
      }
    };
    const heading = h('h2', { tabindex: '-1' }, t('failure.title', { what: about.what }));
    const panel = h(
      'div',
      { class: 'failure', role: 'alertdialog', 'aria-label': t('failure.title', { what: about.what }) },
      heading,
      h('p', null, errorWords(error)),
      h('p', null, t('failure.kept')),
      h(
        'div',
        { class: 'keys' },
        button(t('failure.again'), { tone: 'main-act action full', onclick: () => close(true) }),
        button(t('failure.to_file'), { icon: 'download', onclick: toFile }),
        button(t('failure.close'), { tone: 'quiet', onclick: () => close(false) })
      ),
      status
    );
    document.body.append(panel);
    heading.focus();
  });
}
