/**
 * Why the number of a stretch must not be taken for what the whole run carries. Twin of
 * webapp/survey/flow/whole_run.py.
 */
import { mayNarrow } from './narrowed_lengths.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('./disputed_pipe.js').SpannedCapacity} SpannedCapacity */
/** @typedef {import('./disputed_pipe.js').SpannedRow} SpannedRow */
/** @typedef {import('./run_capacity.js').RunBottleneck} RunBottleneck */
/** @typedef {SpannedCapacity & {limits: string[]}} RunCapacity */

const NEAR_M = 1.0; // a narrowing this near to the end of a run is what ended it
const GAP_M = 0.1;

/**
 * @param {RunFields} run
 * @param {StretchRecord[]} stretches
 * @param {ObservationRecord[]} observations
 * @param {number | null} endCounterM
 * @param {import('../../records/tables.js').Narrowings} table
 * @returns {string[]}
 */
export function wholeRunLimits(run, stretches, observations, endCounterM, table) {
  /** @type {Array<[number, number]>} */
  const spans = [];
  for (const { fields } of stretches) {
    const from = fields.from_counter_m ?? null;
    const to = fields.to_counter_m ?? null;
    if (from !== null && to !== null) spans.push([from, to]);
  }
  spans.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const narrow = observations.filter((one) => mayNarrow(one.fields, one.conflicts ?? null, table));
  const places = narrow.map((one) => one.fields.counter_m ?? null);
  const found = [];
  if (places.includes(null)) found.push('narrowing_without_place');
  if (places.some((p) => p !== null && !spans.some(([a, b]) => a <= p && p <= b)))
    found.push('narrowing_outside_pipes');
  if (run.end_reason === 'obstruction' && !sizedNear(narrow, endCounterM)) found.push('ended_at_obstruction');
  if (endCounterM !== null && gap(spans, run.counter_zero_m || 0, endCounterM))
    found.push('pipe_not_throughout');
  return found;
}

/**
 * Whether something with a size is recorded where the run ended.
 * @param {Item[]} narrow
 * @param {number | null} endCounterM
 */
function sizedNear(narrow, endCounterM) {
  return narrow.some(({ fields }) => {
    const place = fields.counter_m ?? null;
    const size = fields.quantification_1 ?? null;
    return endCounterM !== null && place !== null && size !== null && Math.abs(place - endCounterM) <= NEAR_M;
  });
}

/** @param {Array<[number, number]>} spans @param {number} startM @param {number} endM */
function gap(spans, startM, endM) {
  let reach = startM;
  for (const [from, to] of spans) {
    if (from > reach + GAP_M) return true;
    reach = Math.max(reach, to);
  }
  return reach < endM - GAP_M;
}

/**
 * The capacities of a run with what speaks against a number for the whole of it.
 * @param {SpannedCapacity} found
 * @param {string[]} limits
 * @param {boolean} contradicted
 * @returns {RunCapacity}
 */
export function withWholeRun(found, limits, contradicted) {
  const why = contradicted
    ? 'levels_contradicted'
    : limits.includes('narrowing_without_place')
      ? 'narrowing_without_place'
      : '';
  const whole = why || limits.length ? null : (found.whole ?? null);
  if (!why || found.rows.length === 0) return { ...found, limits: [...limits], whole };
  const rows = found.rows.map((row) => (row.left_out ? row : { ...row, capacity: null, left_out: why }));
  return {
    ...found,
    rows,
    bottleneck: withheldBottleneck(rows.map((_, k) => k)),
    limits: [...limits],
    whole: null
  };
}

/** Where it is not known which stretch carries least. @param {number[]} noNumber @returns {RunBottleneck} */
export function withheldBottleneck(noNumber) {
  return { index: null, reasons: [], rivals: [], no_number: noNumber };
}
