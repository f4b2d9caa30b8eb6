/** The job pack. The server makes it; with no server the screen says so, and what can be done instead. */
import { h, refill } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { icon } from '../../ui/icons.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { saveToFile } from '../../files/handover_out.js';
import { askForPack, packState } from './pack_request.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */

const WAIT_MS = 700;

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  let gone = false;
  const place = h('div', { class: 'stack', role: 'status' });
  const status = h('p', { role: 'status', class: 'soft' });
  const toFile = async () => {
    status.textContent = t('failure.file_made', { name: await saveToFile(app, params.job) });
  };
  page.head({ title: t('job_pack.title'), eyebrow: jobTitle(view), back: `/jobs/${params.job}` });
  page.bar(button(t('job_pack.make'), { tone: 'main-act action', icon: 'pack', onclick: () => void make() }));
  const notes = h('div', { class: 'stack' });
  const showNotes = async () => {
    const line = (await app.store.jobs()).find((one) => one.job_id === params.job);
    refill(
      notes,
      line?.unsent ? note('notice', t('job_pack.unsent', { n: line.unsent })) : null,
      line?.conflicts ? note('notice', t('job_pack.conflicts', { n: line.conflicts })) : null
    );
  };
  await showNotes();
  page.body(
    h('p', null, t('job_pack.what')),
    notes,
    place,
    section(
      t('job_pack.no_server'),
      h('p', { class: 'soft' }, t('job_pack.no_server_why')),
      button(t('failure.to_file'), { icon: 'download', tone: 'wide', onclick: () => void toFile() }),
      status
    )
  );

  async function make() {
    refill(place, h('p', null, t('job_pack.sending')));
    await app.sync.run({ by: 'button' });
    await showNotes();
    const bar = h('progress', { max: 1, value: 0, 'aria-label': t('job_pack.title') });
    const words = h('p', null, t('job_pack.asked'));
    try {
      let state = await askForPack(params.job);
      refill(place, bar, words);
      while (!gone && (state.state === 'waiting' || state.state === 'making')) {
        bar.max = Math.max(1, state.total);
        bar.value = state.done;
        words.textContent = state.step || t('job_pack.asked');
        await new Promise((resolve) => {
          setTimeout(resolve, WAIT_MS);
        });
        state = await packState(state.pack_id);
      }
      if (gone) return;
      if (state.state === 'done') ready(state.pack_id);
      else refill(place, note('fault', h('p', null, state.message || t('job_pack.failed'))));
    } catch (error) {
      refill(
        place,
        note(
          'notice',
          h(
            'p',
            null,
            error instanceof TypeError ? t('job_pack.offline') : /** @type {Error} */ (error).message
          )
        )
      );
    }
  }
  /** @param {string} packId */
  function ready(packId) {
    refill(
      place,
      h('p', null, h('strong', null, t('job_pack.ready'))),
      h(
        'a',
        { class: 'button action wide', href: `/api/packs/${packId}/file`, download: '' },
        icon('download'),
        h('span', null, t('job_pack.download'))
      )
    );
    app.announce(t('job_pack.ready'));
  }
  return () => {
    gone = true;
  };
}
