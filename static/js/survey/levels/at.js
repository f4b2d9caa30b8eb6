/** Levels at any place of a run, between the stations. Twin of webapp/survey/levels/at.py. */
import { finite } from '../numbers/finite.js';

/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/** @typedef {import('./levels.js').LevelStation} LevelStation */

const SAME_PLACE_M = 1e-6;

/** @param {LevelProfile} profile @param {number} chainageM @returns {LevelStation | null} */
export function levelAt(profile, chainageM) {
  const place = finite(chainageM, 'chainage_m');
  const { stations } = profile;
  for (let k = firstFrom(stations, place - SAME_PLACE_M); k < stations.length; k += 1) {
    const here = stations[k];
    if (Math.abs(here.chainage_m - place) <= SAME_PLACE_M) return here;
    if (here.chainage_m > place) return k === 0 ? null : between(stations[k - 1], here, place);
  }
  return null;
}

/**
 * The first station at or beyond a place, by halving.
 * @param {LevelStation[]} stations
 * @param {number} place
 * @returns {number}
 */
function firstFrom(stations, place) {
  let [low, high] = [0, stations.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (stations[middle].chainage_m < place) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** @param {LevelStation} before @param {LevelStation} here @param {number} place @returns {LevelStation} */
function between(before, here, place) {
  const share = (place - before.chainage_m) / (here.chainage_m - before.chainage_m);
  const level = shared(before.level_m, here.level_m, share);
  return {
    chainage_m: place,
    level_m: level,
    sd_m: greater(before.sd_m, here.sd_m),
    low_m: shared(before.low_m, here.low_m, share),
    high_m: shared(before.high_m, here.high_m, share),
    low_sd_m: greater(before.low_sd_m, here.low_sd_m),
    high_sd_m: greater(before.high_sd_m, here.high_sd_m),
    known: level === null ? 'bounded' : here.known === 'assumed' ? 'assumed' : 'computed',
    prior_level_m: before.prior_level_m + share * (here.prior_level_m - before.prior_level_m),
    prior_sd_m: before.prior_sd_m > here.prior_sd_m ? before.prior_sd_m : here.prior_sd_m
  };
}

/** @param {number | null} one @param {number | null} other @param {number} share @returns {number | null} */
function shared(one, other, share) {
  return one === null || other === null ? null : one + share * (other - one);
}

/** @param {number | null} one @param {number | null} other @returns {number | null} */
function greater(one, other) {
  if (one === null || other === null) return null;
  return one > other ? one : other;
}
