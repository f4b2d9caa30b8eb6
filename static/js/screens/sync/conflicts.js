/** Two phones said different things of one field. Both are kept until a person says which holds. */
import { h } from '../../ui/elements.js';
import { button, linkRow } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { listed, phrases, when } from '../../ui/format.js';
import { insist } from '../../forms/failure.js';
import { snack } from '../../ui/snack_bar.js';
import { canonical, entryId } from '../../records/fold.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { labelOf, recordName, recordPath, valueInRecord } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../ui/types.js').FieldValue} FieldValue */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').Kind} Kind */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const list = view.conflicts();
    page.head({ title: t('conflicts.title'), eyebrow: jobTitle(view), back: `/jobs/${params.job}` });
    page.body(
      h('p', { class: 'soft' }, t(list.length ? 'conflicts.why' : 'conflicts.none')),
      ...list.map((one) => conflictCard(app, view, one)),
      ...(list.length
        ? []
        : [
            h(
              'div',
              { class: 'rows' },
              linkRow(`/jobs/${params.job}/leave`, 'end', t('leave.title'), t('leave.under'))
            )
          ])
    );
  });
}

/**
 * @param {App} app
 * @param {JobView} view
 * @param {{kind: Kind, id: string, field: string, values: Array<[string, FieldValue]>}} one
 */
function conflictCard(app, view, one) {
  const record = /** @type {import('../../ui/types.js').SurveyRecord} */ (view.record(one.kind, one.id));
  const history = view.entriesOf(one.kind, one.id);
  const fields = /** @type {FieldsByName} */ (record.fields);
  const shown = canonical(one.field === 'removed' ? false : (fields[one.field] ?? null));
  const keep = async (/** @type {FieldValue} */ value) => {
    const done = await insist(app, { what: t('what.choice'), jobId: view.jobId }, async () => {
      await app.store.settle(view.jobId, one.kind, one.id, one.field, value);
      return true;
    });
    if (done) snack(t('conflicts.settled'));
  };
  return h(
    'section',
    { class: 'card' },
    h(
      'h2',
      null,
      h('a', { href: recordPath(view.jobId, one.kind, record) }, recordName(app, view, one.kind, record))
    ),
    h('p', null, h('strong', null, labelOf(app, one.kind, one.field, record))),
    h(
      'div',
      { class: 'versions' },
      ...grouped(one.values).map(({ value, ids }) => {
        const entries = ids
          .map((id) => history.find((entry) => entryId(entry) === id))
          .filter((entry) => entry !== undefined);
        return h(
          'div',
          { class: 'version stack-s' },
          h('p', { class: 'version-value' }, valueInRecord(app, view, record, one.field, value)),
          h(
            'p',
            { class: 'field-help' },
            phrases(entries.map((entry) => byWhom(app, entry))),
            canonical(value) === shown ? ` ${t('conflicts.shown')}` : ''
          ),
          button(t('conflicts.keep'), {
            tone: 'wide',
            icon: 'tick',
            onclick: () => void keep(value),
            key: `${one.id}/${one.field}/${ids[0]}`
          })
        );
      })
    )
  );
}

/** The same value said twice is offered once. @param {Array<[string, FieldValue]>} values */
function grouped(values) {
  /** @type {Map<string, {value: FieldValue, ids: string[]}>} */
  const groups = new Map();
  for (const [id, value] of values) {
    const key = canonical(value);
    const group = groups.get(key) ?? { value, ids: [] };
    group.ids.push(id);
    groups.set(key, group);
  }
  return [...groups.values()];
}

/** @param {App} app @param {import('../../ui/types.js').Entry} entry @returns {string} */
function byWhom(app, entry) {
  const who =
    entry.device_id === app.store.deviceId ? t('who.this_phone') : t('who.device', { name: entry.device_id });
  return listed([who, when(entry.recorded_at)]);
}
