/** Clock positions within a run. Twin of webapp/survey/coding/run_clock.py. */
import { numberBetween } from '../numbers/checks.js';
import { truePosition } from './clock.js';

const OFF_AXIS = 0.02;

/** @typedef {import('../../records/types.js').StretchFields} StretchFields */
/** @typedef {{id: string, fields: StretchFields}} Item */
/** @typedef {{hour: number, true_hours: number, nearest_hour: number, wall_distance_m: number}} Suggestion */

/** @template {Item} T @param {T[]} stretches @param {number} counterM @returns {T | null} */
export function roundStretchAt(stretches, counterM) {
  const here = stretches.filter((one) => reaches(one.fields, counterM));
  const sizes = new Set(here.map((one) => one.fields.height_mm ?? null));
  if (sizes.size !== 1 || !here.every((one) => isRound(one.fields))) return null;
  return here[0];
}

/**
 * @param {number} diameterMm
 * @param {number} cameraHeightMm
 * @param {number[]} hours
 * @returns {Suggestion[]}
 */
export function clockSuggestions(diameterMm, cameraHeightMm, hours) {
  const diameter = numberBetween(diameterMm, 1, 100000, 'diameter_mm', 'size_out_of_range');
  const seen = hours.map((hour) => numberBetween(hour, 1, 12, 'hours', 'clock_out_of_range'));
  const offMm = Math.abs(diameter / 2 - cameraHeightMm);
  if (!(OFF_AXIS * diameter < offMm && offMm < diameter / 2)) return [];
  const found = [];
  for (const hour of seen) {
    const place = truePosition(diameter / 2000, cameraHeightMm / 1000, 0, hour * 30);
    const { true_hours, nearest_hour, wall_distance_m } = place;
    if (nearest_hour !== hour) found.push({ hour, true_hours, nearest_hour, wall_distance_m });
  }
  return found;
}

/** @param {StretchFields} fields @param {number} counterM @returns {boolean} */
function reaches(fields, counterM) {
  const [from, to] = [fields.from_counter_m ?? null, fields.to_counter_m ?? null];
  return from !== null && to !== null && from <= counterM && counterM <= to;
}

/** @param {StretchFields} fields @returns {boolean} */
function isRound(fields) {
  const known = (fields.height_mm ?? null) !== null && fields.size_known !== 'unknown';
  return known && fields.shape === 'circular';
}
