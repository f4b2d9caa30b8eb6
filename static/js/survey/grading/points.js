/**
 * From class to number: extra points, the object number and its class. Twin of
 * webapp/survey/grading/points.py.
 */
import { GOALS } from './grading.js';

/** @typedef {import('../../records/types.js').RunFields} RunFields */

/** @typedef {import('../../records/tables.js').Goal} Goal */
/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */
/** @typedef {import('../../records/tables.js').PointsInput} PointsInput */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {{recorded: number, low: number, high: number}} Sum */
/** @typedef {{parts: number[], missing: string[]} & Record<Goal, Sum>} Points */
/** @typedef {{recorded_low: number, recorded_high: number, low: number, high: number}} DamageNumber */

/** @type {PointsInput[]} */
const INPUTS = ['water_carried', 'protection_zone', 'groundwater', 'soil', 'clock', 'at_joint'];

/** @param {Fields} fields @param {RunFields} run @param {GradingLimits} scheme @returns {Points} */
export function extraPoints(fields, run, scheme) {
  /** @type {Points} */
  const found = { parts: [], missing: [], tightness: nothing(), stability: nothing(), operation: nothing() };
  for (const name of INPUTS) {
    const rows = scheme.extra_points.map((row, k) => ({ k, row })).filter((one) => one.row.input === name);
    if (rows.length === 0) continue;
    const values = valuesOf(name, fields, run);
    const fitting = rows.filter((one) => values.includes(one.row.value));
    const settled = fitting.length === 1 && values.length === 1;
    if (settled) found.parts.push(fitting[0].k);
    else found.missing.push(name);
    for (const goal of GOALS) {
      const counted = (fitting.length ? fitting : rows).map((one) => one.row[goal] || 0);
      found[goal].low += Math.min(...counted);
      found[goal].high += Math.max(...counted);
      found[goal].recorded += settled ? counted[0] : 0;
    }
  }
  return found;
}

function nothing() {
  return { recorded: 0, low: 0, high: 0 };
}

/**
 * @param {number} low
 * @param {number} high
 * @param {Sum} points
 * @param {GradingLimits} scheme
 * @returns {DamageNumber}
 */
export function damageNumber(low, high, points, scheme) {
  const [least, most] = [scheme.classes[low].number, scheme.classes[high].number];
  return {
    recorded_low: least + points.recorded,
    recorded_high: most + points.recorded,
    low: least + points.low,
    high: most + points.high
  };
}

/** @param {number | null} number @param {GradingLimits} scheme @returns {number} */
export function classOfNumber(number, scheme) {
  if (number === null) return 0;
  let reached = 1;
  scheme.classes.forEach((one, place) => {
    if (place > 0 && number >= one.number) reached = place;
  });
  return reached;
}

/**
 * The values that an input may have by the records.
 * @param {PointsInput} name
 * @param {Fields} fields
 * @param {RunFields} run
 * @returns {string[]}
 */
function valuesOf(name, fields, run) {
  if (name === 'at_joint') {
    const joint = fields.at_joint ?? null;
    return joint === null ? [] : [joint ? 'yes' : 'no'];
  }
  if (name === 'clock') return halves(fields.clock ?? null);
  const value = run[name] ?? null;
  return value === null || value === 'unknown' ? [] : [String(value)];
}

/** @param {import('../../records/types.js').Clock | null} clock @returns {string[]} */
function halves(clock) {
  if (!clock) return [];
  const start = clock.hour_from;
  const to = clock.hour_to ?? null;
  const end = to === null ? start : to;
  if (end === start && to !== null) return ['whole'];
  const hours = [start];
  while (hours[hours.length - 1] !== end && hours.length < 12) hours.push((hours[hours.length - 1] % 12) + 1);
  const lower = hours.every((hour) => hour >= 3 && hour <= 9);
  const upper = hours.every((hour) => hour <= 3 || hour >= 9);
  if (lower !== upper) return lower ? ['lower'] : ['upper'];
  return ['lower', 'upper'];
}
