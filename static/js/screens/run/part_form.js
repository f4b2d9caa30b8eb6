/** Stretches, level ties and remarks: plain forms made from their descriptions. */
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { GoneError, jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { h } from '../../ui/elements.js';
import { offeredPlace } from '../../forms/counter_place.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').PartParams} PartParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../ui/types.js').MessageKey} MessageKey */

/**
 * @type {Object<string, {kind: 'stretch' | 'level_tie' | 'remark', title: MessageKey, save: MessageKey, what:
 *   MessageKey}>}
 */
const PARTS = {
  stretches: { kind: 'stretch', title: 'stretch.new', save: 'stretch.save', what: 'what.stretch' },
  ties: { kind: 'level_tie', title: 'tie.new', save: 'tie.save', what: 'what.level_tie' },
  remarks: { kind: 'remark', title: 'remark.new', save: 'remark.save', what: 'what.remark' }
};

/** @param {import('../../ui/page.js').Page} page @param {PartParams} params @param {App} app */
export async function mount(page, params, app) {
  const part = PARTS[params.part ?? 'remarks'];
  if (!part) throw new GoneError();
  const view = await jobView(app, params.job);
  const run = params.run ? mustRecord(view, 'run', params.run) : null;
  const record = params.id === 'new' ? null : mustRecord(view, part.kind, params.id);
  const back = run ? `/jobs/${params.job}/runs/${run.id}` : `/jobs/${params.job}/remarks`;
  const what = t(part.what);
  const fields = fieldsOf(app, part.kind).filter(
    (field) => field.name !== 'run_id' && (run || field.name !== 'counter_m')
  );
  const offered = run && !record ? offeredPlace(view, run) : null;
  const requested = places(params.query);
  const name = part.kind === 'stretch' ? 'from_counter_m' : 'counter_m';
  const suggested = {
    ...(offered && { [name]: offered.counter_m }),
    ...(part.kind === 'stretch' && run ? lastStretch(view, run.id) : {}),
    ...requested
  };
  page.head({
    title: record ? app.fields.kinds[part.kind].label : t(part.title),
    eyebrow: run?.fields.run_ref ?? jobTitle(view),
    back,
    aside: removeKey(app, { jobId: params.job, kind: part.kind, record, back, path: params.path, what })
  });
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind: part.kind,
    record,
    fields,
    fixed: run ? { run_id: run.id } : {},
    suggested,
    above:
      offered && !Object.keys(requested).length
        ? [h('p', { class: 'field-help' }, t('place.offered', { how: offered.words }))]
        : [],
    path: params.path,
    saveLabel: t(part.save),
    what,
    back
  });
}

/**
 * Places that the address of a new form brings with it.
 * @param {URLSearchParams} query
 * @returns {Object<string, number>}
 */
function places(query) {
  const given = [
    'counter_m',
    'from_counter_m',
    'to_counter_m',
    'counter_part',
    'from_part',
    'to_part'
  ].filter((name) => /^\d+(\.\d+)?$/.test(query.get(name) ?? ''));
  return Object.fromEntries(given.map((name) => [name, Number(query.get(name))]));
}

/**
 * A new stretch mostly repeats the last one, beginning where that ended.
 * @param {JobView} view
 * @param {string} runId
 */
function lastStretch(view, runId) {
  const last = view
    .records('stretch')
    .filter((one) => one.fields.run_id === runId)
    .at(-1)?.fields;
  if (!last) return {};
  const { shape, height_mm, width_mm, size_known, material, lining, pipe_unit_length_m, to_counter_m } = last;
  return {
    ...(typeof to_counter_m === 'number' && { from_counter_m: to_counter_m }),
    shape,
    height_mm,
    width_mm,
    size_known,
    material,
    lining,
    pipe_unit_length_m
  };
}
