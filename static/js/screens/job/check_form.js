/** One check of an instrument: only the fields that this check has. */
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { h } from '../../ui/elements.js';
import { note } from '../../ui/page.js';
import { instrumentsOf } from '../../survey/instruments/instruments.js';
import { valueWords } from '../parts/describe.js';
import * as safety from './safety.js';
import { todaysPart } from './todays_checks.js';
import { usualText, verdictText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').CheckType} CheckType */
/** @typedef {import('../../ui/types.js').RecordParams} RecordParams */

/** @param {import('../../ui/page.js').Page} page @param {RecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const record = params.id === 'new' ? null : mustRecord(view, 'check', params.id);
  const requested = /** @type {CheckType | null} */ (params.query.get('type'));
  const type = record?.fields.check_type ?? requested ?? 'counter_tape';
  if (type === 'safety_sheet') return safety.mount(page, params, app); // its answers have a page of their own
  const back = `/jobs/${params.job}/checks`;
  const fields = fieldsOf(app, 'check')
    .filter((field) => field.name !== 'check_type' && (!field.only || field.only.includes(type)))
    .map((field) =>
      field.only
        ? { ...field, required: field.name !== 'taped_length_sd_m' && field.name !== 'sd_deg' }
        : field
    );
  // The run and the plate of the instrument come last: the figures are what one came for.
  fields.sort((a, b) => Number(Boolean(b.only)) - Number(Boolean(a.only)));
  page.head({
    title: valueWords(app, view, 'check', 'check_type', type),
    eyebrow: jobTitle(view),
    back,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'check',
      record,
      back,
      path: params.path,
      what: t('what.check')
    })
  });
  /** @type {string | undefined} */
  const usual = await app.store.setting(`instrument:${type}`);
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind: 'check',
    record,
    fields,
    fixed: { check_type: type },
    suggested: usual ? { instrument: usual } : {},
    above: record ? [] : [await todaysPart(app, view, type, () => void app.go(back, { replace: true }))],
    live: (values) => verdictNote(type, values),
    path: params.path,
    saveLabel: t('check.save'),
    what: t('what.check'),
    back,
    after: (id) => {
      void rememberInstrument(app, params.job, type, id);
      return back;
    }
  });
}

/**
 * What this check alone comes to, as soon as it is whole.
 * @param {CheckType} type
 * @param {import('../../ui/types.js').AnyFields} values
 */
function verdictNote(type, values) {
  const verdict = verdictText(
    instrumentsOf([{ id: '', fields: { ...values, run_id: null, check_type: type } }], '')
  );
  return verdict
    ? note('plain', h('p', null, h('strong', null, verdict)), h('p', { class: 'field-help' }, usualText()))
    : null;
}

/** @param {App} app @param {string} jobId @param {string} type @param {string} id */
async function rememberInstrument(app, jobId, type, id) {
  const instrument = (await app.store.job(jobId)).record('check', id)?.fields.instrument;
  if (instrument) await app.store.setSetting(`instrument:${type}`, instrument);
}
