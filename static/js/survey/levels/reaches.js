/**
 * The gradients that the levels show within a length, reach by reach, and what in it falls the wrong way.
 * Twin of webapp/survey/levels/reaches.py.
 */
import { riseValue } from './values.js';

/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/** @typedef {{from_m: number, to_m: number, rise_m: number, sd_m: number}} Backfall */
/**
 * @typedef {{gradient_low: number | null, gradient: number | null, gradient_high: number | null, known:
 *   string, backfall: Backfall | null}} Reaches
 */

const SIGMAS_95 = 1.96;
const REACH_M = 10; // shorter, and the spread of single readings hides the fall
const MIN_BACKFALL_M = 0.005;

/**
 * @param {LevelProfile | null} profile
 * @param {number} fromM
 * @param {number} toM
 * @param {string} flow
 * @returns {Reaches}
 */
export function reaches(profile, fromM, toM, flow) {
  /** @type {Reaches} */
  const found = { gradient_low: null, gradient: null, gradient_high: null, known: 'unknown', backfall: null };
  if (profile === null || profile.stations.length < 2) return found;
  const places = profile.stations.map((one) => one.chainage_m);
  const [left, right] = [nearest(places, fromM), nearest(places, toM)];
  if (right <= left) return found;
  const sign = flow === 'with_flow' ? -1 : 1;
  const bands = windows(places, left, right).map(([i, j]) => band(profile, i, j, places, sign));
  [found.gradient_low, found.gradient, found.gradient_high] = [0, 1, 2].map((k) => {
    const values = bands.map((one) => one[k]).filter((value) => value !== null);
    return values.length === bands.length || (k === 2 && values.length) ? Math.min(...values) : null;
  });
  found.known = found.gradient === null ? 'bounded' : 'computed';
  found.backfall = backfallOf(profile, left, right, places, sign);
  return found;
}

/** @param {number[]} places @param {number} wanted @returns {number} */
export function nearest(places, wanted) {
  let best = 0;
  places.forEach((place, k) => {
    if (Math.abs(place - wanted) < Math.abs(places[best] - wanted)) best = k;
  });
  return best;
}

/** @param {number[]} places @param {number} left @param {number} right @returns {Array<[number, number]>} */
function windows(places, left, right) {
  /** @type {Array<[number, number]>} */
  const found = [];
  for (let start = left; start < right; ) {
    let end = start + 1;
    while (end < right && places[end] - places[start] < REACH_M) end += 1;
    if (places[right] - places[end] < REACH_M / 2) end = right;
    if (places[end] > places[start]) found.push([start, end]);
    start = end;
  }
  return found;
}

/**
 * @param {LevelProfile} profile
 * @param {number} i
 * @param {number} j
 * @param {number[]} places
 * @param {number} sign
 * @returns {Array<number | null>}
 */
function band(profile, i, j, places, sign) {
  const rise = riseValue(profile.solution, i, j);
  let ends = [rise.low_m, rise.value_m, rise.high_m];
  if (rise.settled && rise.value_m !== null) {
    const spread = SIGMAS_95 * (rise.sd_m || 0);
    ends = [rise.value_m - spread, rise.value_m, rise.value_m + spread];
  }
  if (sign < 0) ends = ends.reverse().map((m) => (m === null ? null : -m));
  const length = places[j] - places[i];
  return ends.map((m) => (m === null ? null : Math.max(-1, Math.min(1, m / length))));
}

/**
 * @param {LevelProfile} profile
 * @param {number} left
 * @param {number} right
 * @param {number[]} places
 * @param {number} sign
 * @returns {Backfall | null}
 */
function backfallOf(profile, left, right, places, sign) {
  const levels = profile.stations.map((one) => one.level_m);
  /** @type {Backfall | null} */
  let best = null;
  let start = left;
  for (let k = left; k <= right; k += 1) {
    const [here, beyond] = [levels[k], k < right ? levels[k + 1] : null];
    if (here !== null && beyond !== null && sign * (beyond - here) < 0) continue;
    if (k > start) {
      const rise = riseValue(profile.solution, start, k);
      if (rise.settled && rise.value_m !== null) {
        const [up, sd] = [-sign * rise.value_m, rise.sd_m || 0];
        if (up - SIGMAS_95 * sd > MIN_BACKFALL_M && (best === null || up > best.rise_m)) {
          best = { from_m: places[start], to_m: places[k], rise_m: up, sd_m: sd };
        }
      }
    }
    start = k + 1;
  }
  return best;
}
