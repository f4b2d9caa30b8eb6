/**
 * What the figures of a run are computed from: its records, counted on through resets and ended where the
 * run ended. Twin of webapp/figures/run_records.py.
 */
import { asIfNeverReset } from '../survey/instruments/counter_resets.js';
import { settledRun } from '../survey/flow/disputed_pipe.js';
import { instrumentsOf } from '../survey/instruments/instruments.js';
import { closedStretches, endedRun } from '../survey/coding/run_end.js';
import { usable } from '../survey/composites.js';
import { runExtent } from '../survey/plan/run_extent.js';

/** @typedef {import('../records/types.js').Disputed} Disputed */
/** @typedef {import('../records/types.js').RunRecord} RunRecord */
/** @typedef {import('../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../survey/instruments/counter_resets.js').CounterPart} CounterPart */
/**
 * @typedef {{nodes: import('../records/types.js').NodeRecord[], checks:
 *   import('../records/types.js').CheckRecord[], readings: import('../records/types.js').ReadingRecord[],
 *   level_ties: import('../records/types.js').LevelTieRecord[], stretches: StretchRecord[], observations:
 *   import('../records/types.js').ObservationRecord[], remarks: import('../records/types.js').RemarkRecord[],
 *   photos: import('../records/types.js').PhotoRecord[], erased?: StretchRecord[]}} RunRecords
 * `erased`: the places of its observations that were erased, as stretches
 */
/**
 * @typedef {{run_id: string, run: import('../records/types.js').RunFields, records: RunRecords, parts:
 * CounterPart[], instruments: import('../survey/instruments/instruments.js').Instruments, extent:
 * import('../survey/plan/run_extent.js').RunExtent, stretches: StretchRecord[], unusable:
 * import('../survey/review/plausibility.js').RecordFinding[]}} RunSource   `unusable`: findings on what was
 * taken out of the records because it is not whole
 */
/**
 * Gives the value of last time where nothing that goes into it has changed.
 * @typedef {<T>(name: string, inputs: unknown[], work: () => T) => T} Remember
 */

/**
 * @param {RunRecord} stored @param {RunRecords} storedRecords @param {Remember} remember
 * @returns {RunSource}
 */
export function runSource(stored, storedRecords, remember) {
  const recorded = usable(stored);
  const { nodes, checks, ...own } = usableRecords(storedRecords);
  const instruments = remember('instruments', [checks], () => instrumentsOf(checks, recorded.id));
  const source = remember('source', [recorded, instruments, ...Object.values(own)], () => {
    const [moved, byKind, parts] = asIfNeverReset(recorded.fields, {
      reading: own.readings,
      level_tie: own.level_ties,
      stretch: [...own.stretches, ...(own.erased ?? [])],
      observation: own.observations,
      remark: own.remarks,
      photo: own.photos
    });
    const whole = {
      readings: byKind.reading,
      level_ties: byKind.level_tie,
      stretches: byKind.stretch.slice(0, own.stretches.length),
      erased: byKind.stretch.slice(own.stretches.length),
      observations: byKind.observation,
      remarks: byKind.remark,
      photos: byKind.photo
    };
    const run = endedRun(settledRun(moved, disputesOf(recorded, parts)), whole.observations);
    const extent = runExtent(run, whole.readings, whole.observations, instruments);
    return {
      run_id: recorded.id,
      run,
      whole,
      parts,
      instruments,
      extent,
      stretches: closedStretches(whole.stretches, extent.end_counter_m)
    };
  });
  const { whole, ...rest } = source;
  const unusable = unusableIn(recorded, { nodes, checks, ...own });
  return { ...rest, records: { nodes, checks, ...whole }, unusable };
}

/** @param {RunRecords} records @returns {RunRecords} the same arrays where everything is whole */
function usableRecords(records) {
  const each = Object.entries(records).map(([name, some]) => {
    const found = some.map(usable);
    return [name, found.some((one, at) => one !== some[at]) ? found : some];
  });
  return Object.fromEntries(each);
}

/**
 * What was taken out of the run and its records; of those of the job, out of its nodes and checks.
 * @param {RunRecord} recorded
 * @param {RunRecords} records
 * @returns {RunSource['unusable']}
 */
function unusableIn(recorded, { nodes, checks, readings, stretches, observations }) {
  const { id: runId, fields: run } = recorded;
  return [
    recorded,
    ...nodes.filter(({ id }) => id === run.start_node_id || id === run.finish_node_id),
    ...checks.filter(({ fields }) => (fields.run_id || runId) === runId),
    ...readings,
    ...stretches,
    ...observations
  ].flatMap(({ id, unusable: names = [] }) =>
    names.map((field) => ({ record_id: id, code: 'value_not_whole', field, values: {} }))
  );
}

/** The values of a run's own fields that stand in dispute and can be held against each other.
 * @param {RunRecord} recorded @param {CounterPart[]} parts @returns {Disputed} */
export function disputesOf(recorded, parts) {
  return Object.fromEntries(
    Object.entries(recorded.conflicts ?? {}).filter(([name]) => name !== 'end_counter_m' || parts.length < 2)
  );
}
