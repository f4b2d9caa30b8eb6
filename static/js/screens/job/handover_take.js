/** Taking a hand-over file, on the screen of jobs. */
import { h, refill } from '../../ui/elements.js';
import { note, section } from '../../ui/page.js';
import { fileKey } from '../../files/file_key.js';
import { t } from '../../text/words.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */

/** Made once a screen, so that what it says outlives a drawing. @param {App} app @returns {HTMLElement} */
export function handOverTaker(app) {
  const status = h('div', { role: 'status', class: 'stack-s' });
  const { input, element } = fileKey(
    t('handover.take'),
    'download',
    { accept: '.zip,application/zip' },
    'wide'
  );
  input.addEventListener('change', () => void take());

  async function take() {
    const [file] = input.files ?? [];
    input.value = '';
    if (!file) return;
    refill(status, h('p', null, t('handover.taking')));
    try {
      const { takeHandOver } = await app.second.load();
      const done = await takeHandOver(app, file);
      refill(status, ...done.flatMap(words));
    } catch (error) {
      refill(status, note('fault', h('p', null, errorWords(error))));
    }
  }
  return section(t('handover.title'), h('p', { class: 'soft' }, t('handover.take_why')), element, status);
}

/** @param {import('../../files/handover_in.js').Taken} done */
function words(done) {
  return [
    h(
      'p',
      null,
      t('handover.taken', {
        title: done.title,
        new: t('handover.changes', { n: done.entries_new }),
        here: done.entries_here,
        photos: t('handover.pictures', { n: done.photos_new }),
        photos_here: done.photos_here
      })
    ),
    done.photos_missing ? h('p', null, t('handover.taken_missing', { n: done.photos_missing })) : null,
    done.differing ? note('notice', h('p', null, t('handover.differing', { n: done.differing }))) : null,
    h('p', null, h('a', { href: `/jobs/${done.job_id}` }, t('handover.open')))
  ];
}
