/** One run: where it starts, which way it is surveyed, how it ended. */
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { offeredPlace } from '../../forms/counter_place.js';
import { jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { nextFields, nextPipe } from '../../forms/next_run.js';
import { h } from '../../ui/elements.js';
import { note } from '../../ui/page.js';
import { ofRun } from '../parts/run_survey.js';
import { endedRun, recordedEnd } from '../../survey/coding/run_end.js';
import { metres } from '../../ui/format.js';
import { valueWords } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').RunRecord} RunRecord */
/** @typedef {import('../../ui/types.js').JobView} JobView */

const AT_THE_END = ['end_reason', 'end_counter_m'];

/**
 * @param {import('../../ui/page.js').Page} page
 * @param {JobParams & {run?: string}} params
 * @param {App} app
 */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const record = params.run ? mustRecord(view, 'run', params.run) : null;
  const at = `/jobs/${params.job}`;
  const before = record ? null : view.record('run', params.query.get('continues') ?? '');
  const end = params.query.get('end') === 'same' ? 'same' : 'other';
  const back = record ? `${at}/runs/${record.id}` : before ? `${at}/runs/${before.id}` : at;
  const ending = params.query.get('part') === 'end';
  const all = fieldsOf(app, 'run');
  const fields = all.filter((field) =>
    ending ? AT_THE_END.includes(field.name) : record || !AT_THE_END.includes(field.name)
  );
  const recorded = ending && record ? recordedOf(app, view, record) : null;
  const place =
    ending && record && !recorded && typeof record.fields.end_counter_m !== 'number'
      ? offeredPlace(view, record)
      : null;
  const offered =
    recorded ??
    (place && {
      values: { end_counter_m: place.counter_m },
      words: t('place.offered', { how: place.words })
    });
  page.head({
    title: ending
      ? t('run.end')
      : before
        ? t(end === 'other' ? 'onward.other' : 'onward.same')
        : (record?.fields.run_ref ?? t('run.new')),
    eyebrow: jobTitle(view),
    back,
    aside: ending
      ? null
      : removeKey(app, {
          jobId: params.job,
          kind: 'run',
          record,
          back: at,
          path: params.path,
          what: t('what.run')
        })
  });
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind: 'run',
    record,
    fields,
    suggested: { run_ref: nextRef(view), ...(before ? nextFields(before, end) : {}) },
    ...(before ? onward(app, view, before, end) : {}),
    ...(offered && { offered: offered.values, above: [h('p', { class: 'field-help' }, offered.words)] }),
    path: params.path,
    saveLabel: t('run.save'),
    what: t('what.run'),
    back,
    after: (id) => `${at}/runs/${id}`,
    offer: ending ? (id) => ({ label: t('leave.title'), path: `${at}/leave?run=${id}` }) : undefined
  });
}

/**
 * What is taken over from the run that goes on, said before it is saved.
 * @param {App} app
 * @param {JobView} view
 * @param {RunRecord} before
 * @param {'other' | 'same'} end
 * @returns {Pick<import('../../forms/record_form.js').RecordForm, 'above' | 'beside'>}
 */
function onward(app, view, before, end) {
  const ref = before.fields.run_ref ?? '?';
  const stretches = ofRun(view, before.id, 'stretch');
  const lines = [
    t(end === 'other' ? 'onward.other_why' : 'onward.same_why', { ref }),
    stretches.length ? t('onward.pipe', { ref }) : ''
  ].filter(Boolean);
  if (!before.fields.expected_length_m && end === 'other') lines.push(t('onward.no_length'));
  const stretchId = app.newId();
  return {
    above: [note('plain', ...lines.map((words) => h('p', null, words)))],
    beside: (id, fields) => {
      const pipe = nextPipe(stretches, id, fields.counter_zero_m ?? 0, t('onward.taken_over', { ref }));
      return pipe ? [{ kind: 'stretch', record_id: stretchId, fields: pipe }] : [];
    }
  };
}

/**
 * The end that an observation tells of already: nothing has to be entered again.
 * @param {App} app
 * @param {JobView} view
 * @param {RunRecord} run
 */
function recordedOf(app, view, run) {
  const observations = view.ofRun('observation', run.id);
  const one = recordedEnd(observations);
  if (!one) return null;
  const { end_counter_m, end_reason } = endedRun({}, observations);
  const reason = valueWords(app, view, 'run', 'end_reason', end_reason);
  return {
    values: { end_counter_m, end_reason },
    words: t('run.end_told', { code: one.fields.code ?? '', m: metres(Number(one.fields.counter_m)), reason })
  };
}

/** R1, R2, ... : the first that is free. @param {JobView} view @returns {string} */
function nextRef(view) {
  const taken = new Set(view.records('run').map((run) => run.fields.run_ref));
  let n = 1;
  while (taken.has(`R${n}`)) n += 1;
  return `R${n}`;
}
