/**
 * The invert along a length in the direction of the flow, with how unsure its fall and its bow are. Twin of
 * webapp/survey/flow/invert_line.py.
 */
import { SurveyError } from '../errors.js';
import { riseValue } from '../levels/values.js';
import { nearest } from '../levels/reaches.js';

/** @typedef {import('../levels/levels.js').LevelProfile} LevelProfile */
/**
 * @typedef {{places_m: number[], levels_m: number[], chainages_m: number[], fall_sd_m: number, bow_sd_m:
 *   number}} InvertLine
 */

const MAX_PLACES = 120; // more stations are thinned: in each part the highest and the lowest stay
const SAME_M = 1e-6;
const SURE = 3; // standard deviations: the greatest of many places is further off by chance than one is
const MIN_M = 0.001;

/**
 * @param {LevelProfile | null} profile
 * @param {number} fromM
 * @param {number} toM
 * @param {string} flow
 * @returns {InvertLine | null}
 */
export function invertLine(profile, fromM, toM, flow) {
  if (profile === null || profile.stations.length < 2) return null;
  const places = profile.stations.map((one) => one.chainage_m);
  const [left, right] = [nearest(places, fromM), nearest(places, toM)];
  const levels = right > left ? levelsOf(profile, left, right) : null;
  if (levels === null) return null;
  const kept = sure(profile, left, levels, thinned(levels));
  const chainages = kept.map((k) => places[left + k]);
  const inverts = kept.map((k) => levels[k]);
  if (flow !== 'with_flow') {
    chainages.reverse();
    inverts.reverse();
  }
  const [fall, bow] = spreads(profile, left, right);
  return {
    places_m: chainages.map((one) => Math.abs(one - chainages[0])),
    levels_m: inverts,
    chainages_m: chainages,
    fall_sd_m: fall,
    bow_sd_m: bow
  };
}

/**
 * @param {InvertLine} line
 * @param {import('./waterway.js').Waterway} way
 * @param {number} [fallByM]
 * @param {number} [bowByM]
 * @returns {import('./grade_line.js').Piece[]}
 */
export function linePieces(line, way, fallByM = 0, bowByM = 0) {
  const places = line.places_m;
  const length = places[places.length - 1];
  const levels = places.map((place, k) => {
    const share = place / length;
    return line.levels_m[k] + fallByM * (1 - share) + bowByM * 4 * share * (1 - share);
  });
  const found = apart(line).map((k) => ({
    length_m: places[k + 1] - places[k],
    fall_m: levels[k] - levels[k + 1],
    way
  }));
  if (found.length === 0) throw new SurveyError('chainage_not_ascending', 'line');
  return found;
}

/**
 * The chainages of the upper ends of the pieces of an invert.
 * @param {InvertLine} line
 * @returns {number[]}
 */
export function upperEndsM(line) {
  return apart(line).map((k) => line.chainages_m[k]);
}

/** Places beyond which the next one lies. @param {InvertLine} line @returns {number[]} */
function apart(line) {
  const places = line.places_m;
  return places.flatMap((place, k) => (k + 1 < places.length && places[k + 1] - place > SAME_M ? [k] : []));
}

/** Levels above the first station; null where a rise is not settled.
 * @param {LevelProfile} profile @param {number} left @param {number} right @returns {number[] | null} */
function levelsOf(profile, left, right) {
  const known = profile.stations.slice(left, right + 1).map((one) => one.level_m);
  if (!known.includes(null)) return known.map((one) => Number(one) - Number(known[0]));
  const levels = [0];
  for (let k = left; k < right; k += 1) {
    const rise = riseValue(profile.solution, k, k + 1);
    if (!rise.settled || rise.value_m === null) return null;
    levels.push(levels[levels.length - 1] + rise.value_m);
  }
  return levels;
}

/**
 * Which stations stay: all, or of each part the highest and the lowest, and the ends.
 * @param {number[]} levels
 * @returns {number[]}
 */
function thinned(levels) {
  const count = levels.length;
  if (count <= MAX_PLACES) return levels.map((_, k) => k);
  const parts = Math.floor(MAX_PLACES / 2) - 1;
  const kept = new Set([0, count - 1]);
  for (let part = 0; part < parts; part += 1) {
    const [first, beyond] = [Math.floor((part * count) / parts), Math.floor(((part + 1) * count) / parts)];
    let [low, high] = [first, first];
    for (let k = first; k < beyond; k += 1) {
      if (levels[k] < levels[low]) low = k;
      if (levels[k] > levels[high]) high = k;
    }
    kept.add(low).add(high);
  }
  return [...kept].sort((a, b) => a - b);
}

/**
 * Of the stations kept, those that surely stand off the straight line between their neighbours.
 * @param {LevelProfile} profile
 * @param {number} left
 * @param {number[]} levels
 * @param {number[]} kept
 * @returns {number[]}
 */
function sure(profile, left, levels, kept) {
  const places = kept.map((k) => profile.stations[left + k].chainage_m);
  const stay = new Set([0, kept.length - 1]);
  /** @type {Array<[number, number]>} */
  const ahead = [[0, kept.length - 1]];
  for (let next = ahead.pop(); next; next = ahead.pop()) {
    const [i, j] = next;
    const whole = j - i > 1 ? variance(profile, left + kept[i], left + kept[j]) : 0;
    let [best, most] = [-1, SURE];
    for (let k = i + 1; k < j; k += 1) {
      const share = (places[k] - places[i]) / (places[j] - places[i]);
      const off = Math.abs(levels[kept[k]] - levels[kept[i]] - share * (levels[kept[j]] - levels[kept[i]]));
      if (off <= MIN_M) continue;
      const first = variance(profile, left + kept[i], left + kept[k]);
      const second = variance(profile, left + kept[k], left + kept[j]);
      const both = (whole - first - second) * share * (1 - share);
      const spread = (1 - share) * (1 - share) * first + share * share * second - both;
      const score = spread > SAME_M * SAME_M ? off / Math.sqrt(spread) : off / SAME_M;
      if (score > most) [best, most] = [k, score];
    }
    if (best >= 0) {
      stay.add(best);
      ahead.push([i, best], [best, j]);
    }
  }
  return [...stay].sort((a, b) => a - b).map((k) => kept[k]);
}

/** @param {LevelProfile} profile @param {number} left @param {number} right @returns {number} */
function variance(profile, left, right) {
  const sdM = riseValue(profile.solution, left, right).sd_m || 0;
  return sdM * sdM;
}

/** Standard deviations of the fall, and of the middle against the straight line between the ends.
 * @param {LevelProfile} profile @param {number} left @param {number} right @returns {[number, number]} */
function spreads(profile, left, right) {
  const whole = riseValue(profile.solution, left, right).sd_m || 0;
  const places = profile.stations.map((one) => one.chainage_m);
  const middle = nearest(places, (places[left] + places[right]) / 2);
  if (middle === left || middle === right) return [whole, 0];
  const first = riseValue(profile.solution, left, middle).sd_m || 0;
  const second = riseValue(profile.solution, middle, right).sd_m || 0;
  const twice = 2 * (first * first + second * second) - whole * whole; // variance of one rise less the other
  return [whole, twice > SAME_M * SAME_M ? Math.sqrt(twice) / 2 : 0];
}
