/**
 * From class to number: extra points, the object number and its class. Twin of
 * webapp/survey/grading/points.py.
 */
import { GOALS } from './grading.js';

/** @typedef {import('../../records/types.js').RunFields} RunFields */

/** @typedef {Object<string, any>} Fields */
/** @typedef {{recorded: number, low: number, high: number}} Sum */
/** @typedef {{parts: number[], missing: string[], [goal: string]: any}} Points */
/** @typedef {{recorded_low: number, recorded_high: number, low: number, high: number}} DamageNumber */

const INPUTS = ['water_carried', 'protection_zone', 'groundwater', 'soil', 'clock', 'at_joint'];

/** @param {Fields} fields @param {RunFields} run @param {any} scheme @returns {Points} */
export function extraPoints(fields, run, scheme) {
  /** @type {Points} */
  const found = { parts: [], missing: [] };
  for (const goal of GOALS) found[goal] = { recorded: 0, low: 0, high: 0 };
  for (const name of INPUTS) {
    const rows = scheme.extra_points
      .map((/** @type {any} */ row, /** @type {number} */ k) => ({ k, row }))
      .filter((/** @type {any} */ one) => one.row.input === name);
    if (rows.length === 0) continue;
    const values = valuesOf(name, fields, run);
    const fitting = rows.filter((/** @type {any} */ one) => values.includes(one.row.value));
    const settled = fitting.length === 1 && values.length === 1;
    if (settled) found.parts.push(fitting[0].k);
    else found.missing.push(name);
    for (const goal of GOALS) {
      const counted = (fitting.length ? fitting : rows).map((/** @type {any} */ one) => one.row[goal] || 0);
      found[goal].low += Math.min(...counted);
      found[goal].high += Math.max(...counted);
      found[goal].recorded += settled ? counted[0] : 0;
    }
  }
  return found;
}

/**
 * @param {number} low
 * @param {number} high
 * @param {Sum} points
 * @param {any} scheme
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

/** @param {number | null} number @param {any} scheme @returns {number} */
export function classOfNumber(number, scheme) {
  if (number === null) return 0;
  let reached = 1;
  scheme.classes.forEach((/** @type {any} */ one, /** @type {number} */ place) => {
    if (place > 0 && number >= one.number) reached = place;
  });
  return reached;
}

/**
 * The values that an input may have by the records.
 * @param {string} name
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
  const value = /** @type {Object<string, any>} */ (run)[name] ?? null;
  return value === null || value === 'unknown' ? [] : [String(value)];
}

/** @param {any} clock @returns {string[]} */
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
