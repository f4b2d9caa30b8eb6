/** What was removed from a job. Nothing is ever thrown away: it can be put back. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { when } from '../../ui/format.js';
import { insist } from '../../forms/failure.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { recordName } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').Kind} Kind */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @type {import('../../records/types.js').Kind[]} */

const KINDS = ['run', 'node', 'stretch', 'reading', 'observation', 'level_tie', 'check', 'photo', 'remark'];

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const gone = KINDS.flatMap((kind) => view.removed(kind).map((record) => ({ kind, record })));
    page.head({ title: t('removed.title'), eyebrow: jobTitle(view), back: `/jobs/${params.job}` });
    page.body(
      h('p', { class: 'soft' }, t(gone.length ? 'removed.why' : 'removed.none')),
      ...gone.map(({ kind, record }) => card(app, view, kind, record))
    );
  });
}

/**
 * @param {App} app
 * @param {JobView} view
 * @param {Kind} kind
 * @param {import('../../ui/types.js').SurveyRecord} record
 */
function card(app, view, kind, record) {
  const last = view.entriesOf(kind, record.id).at(-1);
  const back = () =>
    insist(app, { what: t('what.record'), jobId: view.jobId }, async () => {
      await app.store.restore(view.jobId, kind, record.id);
      app.announce(t('removed.back'));
    });
  return h(
    'div',
    { class: 'card' },
    h('h2', null, recordName(app, view, kind, record)),
    last ? h('p', { class: 'soft' }, t('removed.at', { when: when(last.recorded_at) })) : null,
    button(t('removed.put_back'), { icon: 'undo', tone: 'wide', onclick: () => void back(), key: record.id })
  );
}
