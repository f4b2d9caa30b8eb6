/**
 * The figures of a run and of a length in the view of a job: computed when asked for, and once for each
 * edit. Never stored.
 */
import { lengthFigures, wholeLength } from '../../figures/lengths.js';
import { runFigures } from '../../figures/run_figures.js';
import { instrumentsOf } from '../../survey/instruments/instruments.js';
import { lengthGroups } from '../../survey/lengths/pipe_length.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../records/types.js').KindOfRun} KindOfRun */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */
/** @typedef {import('../../survey/lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */

/**
 * @type {WeakMap<object, Map<string, {inputs: unknown[], value: unknown}>>} of each job's view, what was
 * computed last
 */
const kept = new WeakMap();

/**
 * @template {KindOfRun} K
 * @param {JobView} view
 * @param {string} runId
 * @param {K} kind
 * @returns {RecordOf<K>[]}
 */
export function ofRun(view, runId, kind) {
  return view.ofRun(kind, runId);
}

/** The instruments as the run's checks leave them. @param {JobView} view @param {string} runId */
export function toolsOf(view, runId) {
  const checks = view.records('check');
  return once(view, `${runId}/tools`, [checks], () => instrumentsOf(checks, runId));
}

/** The records behind a run. @param {JobView} view @param {string} runId */
export function recordsOf(view, runId) {
  const of = (/** @type {KindOfRun} */ kind) => ofRun(view, runId, kind);
  return {
    nodes: view.records('node'),
    checks: view.records('check'),
    readings: of('reading'),
    level_ties: of('level_tie'),
    stretches: of('stretch'),
    observations: of('observation'),
    remarks: of('remark'),
    photos: of('photo'),
    erased: view.erasedIn(runId)
  };
}

/** @param {App} app @param {HeldJob} view @param {RecordOf<'run'>} recorded the run @returns {Figures} */
export function figuresOf(app, view, recorded) {
  const records = recordsOf(view, recorded.id);
  return runFigures(recorded, records, view.job.fields, app.tables, rememberedIn(view, recorded.id));
}

/** The runs of the length that a run belongs to, the first run first; none where it is a length by itself.
 * @param {HeldJob} view @param {string} runId @returns {RecordOf<'run'>[]} */
export function runsOfLength(view, runId) {
  const runs = view.records('run');
  const ids =
    once(view, 'lengths', [runs], () => lengthGroups(runs)).find((some) => some.includes(runId)) ?? [];
  return ids.flatMap((id) => view.record('run', id) ?? []);
}

/**
 * What the runs of a length are together.
 * @param {App} app
 * @param {HeldJob} view
 * @param {RecordOf<'run'>[]} runs
 * @returns {WholeLength}
 */
export function wholeLengthOf(app, view, runs) {
  const each = runs.map((run) => figuresOf(app, view, run));
  const inputs = each.flatMap(
    ({ run, records: { checks, readings, observations, level_ties: ties, stretches, erased } }) => [
      run,
      checks,
      readings,
      observations,
      ties,
      stretches,
      erased
    ]
  );
  return once(view, `length ${runs[0].id}`, inputs, () => wholeLength(each, app.tables));
}

/** The figures of a length as those of one run; null where it is not known how its runs join.
 * @param {App} app @param {HeldJob} view @param {RecordOf<'run'>[]} runs @param {WholeLength} whole */
export function lengthFiguresOf(app, view, runs, whole) {
  return lengthFigures(whole, figuresOf(app, view, runs[0]), rememberedIn(view, `length ${runs[0].id}`));
}

/** @param {HeldJob} view @param {string} key @returns {import('../../figures/run_records.js').Remember} */
function rememberedIn(view, key) {
  return (name, inputs, work) => once(view, `${key}/${name}`, inputs, work);
}

/**
 * The value of last time if nothing that went into it has changed since. Records are new objects when they
 * change.
 * @template T
 * @param {object} view
 * @param {string} name
 * @param {unknown[]} inputs
 * @param {() => T} work
 * @returns {T}
 */
function once(view, name, inputs, work) {
  /** @type {Map<string, {inputs: unknown[], value: unknown}>} */
  const mine = kept.get(view) ?? new Map();
  kept.set(view, mine);
  const before = mine.get(name);
  if (before?.inputs.every((one, i) => same(one, inputs[i]))) return /** @type {T} */ (before.value);
  const value = work();
  mine.set(name, { inputs, value });
  return value;
}

/** @param {unknown} one @param {unknown} other @returns {boolean} */
function same(one, other) {
  if (one === other) return true;
  return (
    Array.isArray(one) &&
    Array.isArray(other) &&
    one.length === other.length &&
    one.every((item, i) => item === other[i])
  );
}

/** The references of the runs of a length. @param {RecordOf<'run'>[]} runs @returns {string} */
export function refsOf(runs) {
  return runs.map((run) => run.fields.run_ref ?? '?').join(' + ');
}
