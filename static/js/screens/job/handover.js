/** The whole job as one file: to the share sheet where the phone can, to its downloads everywhere. */
import { h, refill } from '../../ui/elements.js';
import { button, note } from '../../ui/page.js';
import { bytesText } from '../../ui/format.js';
import { GoneError, jobTitle } from '../../ui/record_guard.js';
import { insist } from '../../forms/failure.js';
import { download, handOver } from '../../files/handover_out.js';
import { t } from '../../text/words.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await app.store.job(params.job);
  if (view.byWriter.size === 0) throw new GoneError(params.job);
  let gone = false;
  const place = h('div', { class: 'stack', role: 'status' });
  page.head({ title: t('handover.title'), eyebrow: jobTitle(view), back: `/jobs/${params.job}` });
  page.body(h('p', null, t('handover.why')), place);
  const progress = (/** @type {number} */ done, /** @type {number} */ total) =>
    refill(place, h('p', null, t('handover.making', { done, total })));
  // Made before any key is there: a phone shares only what is ready at the tap.
  void insist(app, { what: t('what.handover') }, () => handOver(app, params.job, undefined, progress)).then(
    (made) => {
      if (made && !gone) ready(made);
    }
  );

  /** @param {import('../../files/handover_out.js').HandOver} made */
  function ready({ file, entries, photos, missing }) {
    const canShare = navigator.canShare?.({ files: [file] }) === true;
    const status = h('p', { role: 'status' });
    const save = () => {
      download(file, file.name);
      status.textContent = t('failure.file_made', { name: file.name });
    };
    refill(
      place,
      h(
        'p',
        { class: 'num' },
        t('handover.ready', {
          name: file.name,
          size: bytesText(file.size),
          entries: t('handover.changes', { n: entries }),
          photos: t('handover.pictures', { n: photos })
        })
      ),
      missing ? note('notice', h('p', null, t('handover.missing', { n: missing }))) : null,
      canShare ? null : h('p', { class: 'soft' }, t('handover.no_share')),
      status
    );
    page.bar(
      canShare
        ? button(t('handover.share'), {
            tone: 'main-act action',
            icon: 'send',
            onclick: () => void share(file, status)
          })
        : null,
      button(t('handover.save'), {
        tone: canShare ? 'action' : 'main-act action',
        icon: 'download',
        onclick: save
      })
    );
  }
  return () => {
    gone = true;
  };
}

/** @param {File} file @param {HTMLElement} status */
async function share(file, status) {
  try {
    await navigator.share({ files: [file], title: file.name });
    status.textContent = t('handover.shared');
  } catch (error) {
    if (/** @type {Error | undefined} */ (error)?.name === 'AbortError') return; // the person closed the sheet
    status.textContent = t('handover.share_failed', { why: errorWords(error) });
  }
}
