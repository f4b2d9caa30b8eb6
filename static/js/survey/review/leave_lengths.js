/**
 * How far a run was surveyed, and the lengths of which something was never stated. Twin of
 * webapp/survey/review/leave_lengths.py.
 */
import { openItem } from './leave_item.js';
import { NEED_WIDTH } from '../flow/run_capacity.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('./leave_item.js').LeaveRules} LeaveRules */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {Object<string, Item[]>} Parts */
/** @typedef {[number, number]} Span */

export const SAME_PLACE_M = 1e-6;

/**
 * Where the run ended by the counter: as recorded, else where its finish node was seen.
 * @param {RunFields} run
 * @param {ObservationRecord[]} observations
 * @param {LeaveRules} rules
 * @returns {number | null}
 */
export function finishM(run, observations, rules) {
  /** @type {number | null} */
  let end = run.end_counter_m ?? null;
  if (end !== null) return end;
  for (const { fields } of observations) {
    const atM = fields.counter_m ?? null;
    if (fields.code === rules.finish_code && atM !== null && (end === null || atM > end)) end = atM;
  }
  return end;
}

/**
 * @param {RunFields} run
 * @param {ReadingRecord[]} readings
 * @param {ObservationRecord[]} observations
 * @param {LeaveRules} rules
 * @returns {[number, number | null]}
 */
export function reachM(run, readings, observations, rules) {
  const startM = run.counter_zero_m || 0;
  const end = finishM(run, observations, rules);
  if (end !== null) return [startM, end];
  /** @type {number | null} */
  let last = null;
  for (const { fields } of [...readings, ...observations]) {
    const place = fields.counter_m ?? null;
    if (place !== null && (last === null || place > last)) last = place;
  }
  return [startM, last];
}

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {Parts} parts
 * @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
export function lengthItems(runId, run, parts, rules) {
  const [startM, endM] = reachM(run, parts.reading, parts.observation, rules);
  if (endM === null) return stretchItems(runId, parts.stretch);
  /** @type {OpenItem[]} */
  const found = [];
  const places = parts.reading
    .filter((one) => one.fields.inclination)
    .map((one) => one.fields.counter_m ?? null)
    .filter((place) => place !== null)
    .sort((a, b) => a - b);
  for (const [from, to] of between(startM, places, endM)) {
    if (!(to - from > rules.longest_gap_m + SAME_PLACE_M)) continue;
    const values = {
      from_m: from,
      to_m: to,
      allowed_m: rules.longest_gap_m,
      allowed_known: rules.longest_gap_known
    };
    found.push(openItem('reading_gap', runId, 'reading', null, 'counter_m', values));
  }
  found.push(...stretchItems(runId, parts.stretch));
  for (const [from, to] of uncovered(startM, parts.stretch, endM)) {
    if (to - from > rules.least_length_m)
      found.push(openItem('stretch_missing', runId, 'stretch', null, 'shape', { from_m: from, to_m: to }));
  }
  return found;
}

/** @param {number} startM @param {number[]} places @param {number} endM @returns {Span[]} */
function between(startM, places, endM) {
  const stops = [startM, ...places.filter((place) => startM < place && place < endM), endM];
  return stops.slice(1).map((to, k) => /** @type {Span} */ ([stops[k], to]));
}

/** @param {string} runId @param {StretchRecord[]} stretches @returns {OpenItem[]} */
function stretchItems(runId, stretches) {
  /** @type {OpenItem[]} */
  const found = [];
  for (const { id, fields } of stretches) {
    if (!fields.shape) found.push(openItem('shape_missing', runId, 'stretch', id, 'shape', {}));
    let lacking = (fields.height_mm ?? null) === null ? 'height_mm' : '';
    if (
      !lacking &&
      NEED_WIDTH.includes(/** @type {string} */ (fields.shape)) &&
      (fields.width_mm ?? null) === null
    )
      lacking = 'width_mm';
    if (lacking && fields.size_known !== 'unknown')
      found.push(openItem('size_missing', runId, 'stretch', id, lacking, {}));
  }
  return found;
}

/**
 * The lengths that lie in no stretch; one without an end goes on to the next, or to the end.
 * @param {number} startM
 * @param {StretchRecord[]} stretches
 * @param {number} endM
 * @returns {Span[]}
 */
function uncovered(startM, stretches, endM) {
  const spans = stretches
    .filter(({ fields }) => (fields.from_counter_m ?? null) !== null)
    .map(({ fields }) => ({
      from: /** @type {number} */ (fields.from_counter_m),
      to: fields.to_counter_m ?? null
    }))
    .sort((a, b) => a.from - b.from);
  /** @type {Span[]} */
  const found = [];
  let reached = startM;
  spans.forEach(({ from, to }, k) => {
    if (from > reached) found.push([reached, Math.min(from, endM)]);
    reached = Math.max(reached, to ?? spans[k + 1]?.from ?? endM);
  });
  found.push([reached, endM]);
  return found.filter(([a, b]) => b > a);
}
