/** Whether the computed standing water fits the water seen. Twin of webapp/survey/levels/water_check.py. */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';

/** @typedef {import('./ponding.js').Ponding} Ponding */
/**
 * @typedef {{chainage_m: number, computed_m: number, observed_m: number, difference_m: number, sd_m: number,
 *   verdict: string}} WaterCheck
 */

const SAME_M = 1e-9; // depths nearer than this are one
const SURE = 2; // standard deviations

/**
 * @param {Ponding} ponding @param {number[]} chainagesM @param {number[]} percents @param {number} heightM
 * @param {number} sdPercent @param {number} flowDepthM @returns {WaterCheck[]}
 */
export function compareWater(ponding, chainagesM, percents, heightM, sdPercent, flowDepthM) {
  if (!(finite(heightM, 'height_m') > 0)) throw new SurveyError('length_not_positive', 'height_m');
  spread(sdPercent, 'sd_percent');
  finite(flowDepthM, 'flow_depth_m');
  if (chainagesM.length !== percents.length) throw new SurveyError('lengths_differ', 'percents');
  return chainagesM.map((place, index) => {
    finite(place, 'chainages_m', index);
    const percent = finite(percents[index], 'percents', index);
    if (!(percent >= 0 && percent <= 100)) throw new SurveyError('percent_out_of_range', 'percents', index);
    const seen = (percent / 100) * heightM - flowDepthM;
    return compareOne(ponding, place, seen > 0 ? seen : 0, (sdPercent / 100) * heightM);
  });
}

/**
 * @param {Ponding} ponding
 * @param {number} place
 * @param {number} seen
 * @param {number} seenSd
 * @returns {WaterCheck}
 */
function compareOne(ponding, place, seen, seenSd) {
  let [depth, sd, atLeast] = [0, 0, false];
  for (const sag of ponding.sags) {
    if (!(sag.from_m <= place && place <= sag.to_m)) continue;
    depth = Math.max(sag.surface_m - levelAt(ponding, place), 0);
    [sd, atLeast] = [sag.sd_m ?? 0, sag.at_least];
  }
  const both = Math.sqrt(sd * sd + seenSd * seenSd);
  const difference = seen - depth;
  let verdict = 'agrees';
  if (difference > SURE * both + SAME_M && !atLeast) verdict = 'deeper';
  else if (difference < -SURE * both - SAME_M) verdict = 'shallower';
  return {
    chainage_m: place,
    computed_m: depth,
    observed_m: seen,
    difference_m: difference,
    sd_m: both,
    verdict
  };
}

/** @param {Ponding} ponding @param {number} place @returns {number} */
function levelAt(ponding, place) {
  const { chainage_m: places, level_m: levels } = ponding;
  let [low, high] = [1, places.length];
  while (low < high) {
    // the first place at or beyond this one, by halving
    const middle = (low + high) >> 1;
    if (places[middle] < place) low = middle + 1;
    else high = middle;
  }
  if (low >= places.length) return levels[levels.length - 1];
  const share = (place - places[low - 1]) / (places[low] - places[low - 1]);
  return levels[low - 1] + share * (levels[low] - levels[low - 1]);
}
