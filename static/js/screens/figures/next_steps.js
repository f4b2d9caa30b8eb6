/** What to do next, as the surveyor says it; the suggestion by rule stands above it. */
import { fieldOf } from '../parts/describe.js';
import { nextBlock } from '../parts/condition_parts.js';
import { stretchTitle } from './condition.js';
import { recordForm } from '../../forms/record_form.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { figuresOf } from '../parts/figures_of.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunRecordParams} RunRecordParams */

/** @param {import('../../ui/page.js').Page} page @param {RunRecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const whole = params.id === 'run';
  const record = whole ? run : mustRecord(view, 'stretch', params.id);
  const figures = figuresOf(app, view, run);
  const back = `/jobs/${params.job}/runs/${run.id}/condition`;
  const place = (figures.suggested ?? []).findIndex((one) =>
    whole ? one.kind === 'run' : one.id === record.id
  );
  const suggested =
    place < 0 ? null : /** @type {NonNullable<typeof figures.suggested>} */ (figures.suggested)[place];
  page.head({
    title: t('condition.edit_title'),
    eyebrow: whole ? (run.fields.run_ref ?? '?') : stretchTitle(figures, place, record.fields),
    back,
    small: true
  });
  const kind = whole ? 'run' : 'stretch';
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind,
    record,
    fields: [fieldOf(app, kind, 'next_steps')],
    path: params.path,
    saveLabel: t('condition.save'),
    what: t('condition.what'),
    back,
    above: suggested ? [nextBlock(app, figures, suggested, record.fields.next_steps)] : []
  });
}
