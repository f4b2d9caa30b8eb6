/** In place of a screen of the second part of the app until that is here: says so, and goes on trying. */
import { h } from './elements.js';
import { faultWords } from './error_words.js';
import { button, note } from './page.js';
import { t } from '../text/words.js';

/** @typedef {import('./types.js').App} App */

const FIRST_WAIT_MS = 2000;
const MAX_WAIT_MS = 30_000;
const JOB_OR_RUN = /^\/jobs\/[^/]+(\/runs\/[^/]+(?=\/))?/;

/**
 * @param {() => unknown} arrived called once it is here, unless the page has been left
 * @returns {import('../routes.js').Screen}
 */
export function comingPage(arrived) {
  return {
    async mount(page, params, app) {
      let stopped = false;
      let waitMs = FIRST_WAIT_MS;
      /** @type {ReturnType<typeof setTimeout> | undefined} */
      let timer;
      const words = h('div', { role: 'status', class: 'stack-s' });
      const onward = h('p', { class: 'soft' }, t('coming.meanwhile'));

      const look = async () => {
        clearTimeout(timer);
        words.replaceChildren(h('p', null, t('coming.fetching')));
        page.body(words, onward);
        try {
          await app.second.load();
          if (!stopped) arrived();
        } catch (error) {
          if (!stopped) say(error);
        }
      };
      /** @param {unknown} thrown */
      const say = (thrown) => {
        const error = /** @type {import('../pwa/second_part.js').PartError} */ (thrown);
        const isOld = error.reason === 'new_release';
        words.replaceChildren(note('notice', h('p', null, faultWords(error.code, error.message))));
        const again = isOld
          ? button(t('coming.reload'), { tone: 'wide', onclick: () => location.reload() })
          : button(t('failure.again'), { tone: 'wide', onclick: () => void look() });
        page.body(words, again, onward);
        if (error.reason === 'damaged') void app.kept.retry(); // the worker reads it back and mends it
        timer = setTimeout(() => void look(), waitMs);
        waitMs = Math.min(MAX_WAIT_MS, 2 * waitMs);
      };
      const now = () => void look();

      page.head({ title: t('coming.title'), back: JOB_OR_RUN.exec(params.path)?.[0] ?? '/' });
      addEventListener('online', now);
      void look();
      return () => {
        stopped = true;
        clearTimeout(timer);
        removeEventListener('online', now);
      };
    }
  };
}
