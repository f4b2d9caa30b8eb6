/** The table of falls. Twin of webapp/survey/levels/falls.py. */
import { SurveyError } from '../errors.js';
import { gradientOf } from '../instruments/gradient.js';
import { SAME_PLACE_M } from './input.js';
import { riseValue } from './values.js';

/** @typedef {import('./solution.js').LevelSolution} LevelSolution */
/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/**
 * @typedef {{from_m: number, to_m: number, fall_m: number | null, sd_m: number | null, low_fall_m: number |
 *   null, high_fall_m: number | null, deg: number | null, sd_deg: number | null, pct: number | null, one_in:
 *   number | null, direction: string | null, known: string}} LengthRow
 */

/** @param {LevelProfile} profile @returns {LengthRow[]} */
export function lengthTable(profile) {
  return profile.stations.slice(1).map((_, k) => lengthRow(profile, k));
}

/**
 * @param {LevelSolution} solution
 * @param {number} left
 * @param {number} right
 * @returns {[number | null, number | null]}
 */
export function riseBetween(solution, left, right) {
  for (const station of [left, right]) {
    if (!(station >= 0 && station < solution.walk.chainage_m.length))
      throw new SurveyError('station_unknown', 'station');
  }
  const value = riseValue(solution, left <= right ? left : right, left <= right ? right : left);
  if (value.value_m === null) return [null, null];
  return [left <= right ? value.value_m : -value.value_m, value.sd_m];
}

/** @param {LevelProfile} profile @param {number} k @returns {LengthRow} */
export function lengthRow(profile, k) {
  const [here, ahead] = [profile.stations[k], profile.stations[k + 1]];
  const value = riseValue(profile.solution, k, k + 1);
  const [rise, sd] = [value.value_m, value.sd_m];
  const row = {
    from_m: here.chainage_m,
    to_m: ahead.chainage_m,
    fall_m: rise === null ? null : -rise,
    sd_m: sd,
    low_fall_m: value.high_m === null ? null : -value.high_m,
    high_fall_m: value.low_m === null ? null : -value.low_m,
    deg: null,
    sd_deg: null,
    pct: null,
    one_in: null,
    direction: null
  };
  if (rise === null || sd === null) return { ...row, known: 'bounded' };
  const length = ahead.chainage_m - here.chainage_m;
  if (length < SAME_PLACE_M) return { ...row, known: 'too_short' };
  const sine = rise / length;
  if (!(sine > -1 && sine < 1)) return { ...row, known: 'contradicted' }; // ties that contradict the length
  const gradient = gradientOf((Math.asin(sine) * 180) / Math.PI);
  const direction = gradient.one_in === null ? 'level' : rise < 0 ? 'falling' : 'rising';
  const sdDeg = ((sd / length / Math.sqrt(1 - sine * sine)) * 180) / Math.PI;
  const provenance = profile.solution.walk.assumed[k + 1] ? 'assumed' : 'computed';
  return {
    ...row,
    deg: gradient.deg,
    sd_deg: sdDeg,
    pct: gradient.pct,
    one_in: gradient.one_in,
    direction,
    known: provenance
  };
}
