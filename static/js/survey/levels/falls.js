/** The table of falls; what a further tie would do. Twin of webapp/survey/levels/falls.py. */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';
import { gradientOf } from '../instruments/gradient.js';
import { riseValue } from './values.js';
import { levelProfile } from './levels.js';

/** @typedef {import('./solution.js').LevelSolution} LevelSolution */
/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/**
 * @typedef {{from_m: number, to_m: number, fall_m: number | null, sd_m: number | null, low_fall_m: number |
 *   null, high_fall_m: number | null, deg: number | null, sd_deg: number | null, pct: number | null, one_in:
 *   number | null, direction: string | null, known: string}} LengthRow
 */
/**
 * @typedef {{chainage_m: number[], now_sd_m: (number | null)[], sd_m: (number | null)[], known: string[],
 *   far_now_sd_m: number | null, far_sd_m: number | null}} TiePrediction
 */

const SAME_PLACE_M = 1e-6; // two chainages nearer than this are one station

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

/**
 * @param {import('./input.js').LevelReading[]} readings @param {import('./input.js').LevelTie[]} ties
 * @param {import('./input.js').LevelSetup} setup @param {number} chainageM @param {number} sdM
 * @returns {TiePrediction}
 */
export function whatWouldATieSettle(readings, ties, setup, chainageM, sdM) {
  finite(chainageM, 'chainage_m');
  spread(sdM, 'sd_m');
  const known = levelProfile(readings, ties, setup);
  const tie = { chainage_m: chainageM, level_m: middle(known, chainageM), sd_m: sdM };
  const then = levelProfile(readings, [...ties, tie], setup);
  const places = then.stations.map((s) => s.chainage_m);
  const now = new Map(known.stations.map((s) => [s.chainage_m, s.level_m !== null ? s.sd_m : null]));
  const nowSd = places.map((place) => now.get(place) ?? null);
  const sds = then.stations.map((s) => (s.level_m !== null ? s.sd_m : null));
  return {
    chainage_m: places,
    now_sd_m: nowSd,
    sd_m: sds,
    known: then.stations.map((s) => s.known),
    far_now_sd_m: nowSd[nowSd.length - 1],
    far_sd_m: sds[sds.length - 1]
  };
}

/**
 * Middle of the bounds at the last station up to a chainage.
 * @param {LevelProfile} profile
 * @param {number} chainageM
 * @returns {number}
 */
function middle(profile, chainageM) {
  let level = 0;
  for (const station of profile.stations) {
    if (station.chainage_m > chainageM) break;
    if (station.low_m !== null && station.high_m !== null) level = (station.low_m + station.high_m) / 2;
  }
  return level;
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
  const known = profile.solution.walk.assumed[k + 1] ? 'assumed' : 'computed';
  return {
    ...row,
    deg: gradient.deg,
    sd_deg: sdDeg,
    pct: gradient.pct,
    one_in: gradient.one_in,
    direction,
    known
  };
}
