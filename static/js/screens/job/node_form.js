/** One node. */
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RecordParams} RecordParams */

/** @param {import('../../ui/page.js').Page} page @param {RecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const record = params.id === 'new' ? null : mustRecord(view, 'node', params.id);
  const back = record ? `/jobs/${params.job}/nodes` : `/jobs/${params.job}`;
  page.head({
    title: record?.fields.node_ref ?? t('node.new'),
    eyebrow: jobTitle(view),
    back,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'node',
      record,
      back,
      path: params.path,
      what: t('what.node')
    })
  });
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind: 'node',
    record,
    fields: fieldsOf(app, 'node'),
    path: params.path,
    saveLabel: t('node.save'),
    what: t('what.node'),
    back
  });
}
