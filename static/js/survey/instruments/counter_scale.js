/** The cable counter with its uncertainty. Twin of webapp/survey/instruments/counter_scale.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';

/** @typedef {{counter_from_m: number, counter_to_m: number, taped_m: number, sd_m: number}} TapeCheck */
/**
 * @typedef {{scale: number, sd: number, worst: number | null, worst_standardised: number | null}}
 *   CounterScale
 */
/**
 * @typedef {{difference_m: number, difference_pct: number, allowed_m: number, flagged: boolean, factor:
 *   number}} FarCheck
 */
/** @typedef {{counter_from_m: number, counter_to_m: number}} CounterSegment */

const MIN_M = 0.01; // less than this and the counter did not move
const FAR_SHARE = 0.005;
const MIN_FAR_M = 0.3;
const MIN_SD_M = 1e-6;

/** @param {TapeCheck[]} checks @returns {CounterScale} */
export function scaleOfChecks(checks) {
  if (checks.length === 0) throw new SurveyError('no_checks', 'checks');
  let [above, below] = [0, 0];
  checks.forEach((check, index) => {
    const [run, weight] = runAndWeight(check, index);
    above += weight * run * check.taped_m;
    below += weight * run * run;
  });
  const [scale, sd] = [above / below, 1 / Math.sqrt(below)];
  /** @type {number | null} */
  let worst = null;
  /** @type {number | null} */
  let off = null;
  checks.forEach((check, index) => {
    if (checks.length < 2) return;
    const run = check.counter_to_m - check.counter_from_m;
    const left = check.sd_m * check.sd_m - run * run * sd * sd;
    if (!(left > 1e-9 * check.sd_m * check.sd_m)) return;
    const size = (check.taped_m - scale * run) / Math.sqrt(left);
    if (off === null || Math.abs(size) > Math.abs(off) * (1 + 1e-6)) [worst, off] = [index, size];
  });
  return { scale, sd, worst, worst_standardised: off };
}

/** @param {number} chainageM @param {number} lengthM @returns {FarCheck} */
export function checkFarLength(chainageM, lengthM) {
  finite(chainageM, 'chainage_m');
  finite(lengthM, 'length_m');
  if (!(lengthM >= MIN_M)) throw new SurveyError('length_not_positive', 'length_m');
  if (!(chainageM >= MIN_M)) throw new SurveyError('counter_not_moved', 'chainage_m');
  const difference = chainageM - lengthM;
  const allowed = FAR_SHARE * lengthM > MIN_FAR_M ? FAR_SHARE * lengthM : MIN_FAR_M;
  return {
    difference_m: difference,
    difference_pct: (100 * difference) / lengthM,
    allowed_m: allowed,
    flagged: Math.abs(difference) > allowed + 1e-9,
    factor: lengthM / chainageM
  };
}

/**
 * @param {CounterSegment[]} segments
 * @param {number} startChainageM
 * @param {number} scale
 * @returns {number[]}
 */
export function segmentStarts(segments, startChainageM, scale) {
  let here = finite(startChainageM, 'start_chainage_m');
  finite(scale, 'scale');
  if (!(scale > 0)) throw new SurveyError('scale_not_positive', 'scale');
  return segments.map((segment, index) => {
    finite(segment.counter_from_m, 'segments', index);
    finite(segment.counter_to_m, 'segments', index);
    const start = here;
    here += (segment.counter_to_m - segment.counter_from_m) * scale;
    return start;
  });
}

/** @param {TapeCheck} check @param {number} index @returns {[number, number]} */
function runAndWeight(check, index) {
  for (const value of [check.counter_from_m, check.counter_to_m, check.taped_m, check.sd_m])
    finite(value, 'checks', index);
  const run = check.counter_to_m - check.counter_from_m;
  if (!(run >= MIN_M)) throw new SurveyError('counter_not_moved', 'checks', index);
  if (!(check.taped_m > 0)) throw new SurveyError('length_not_positive', 'checks', index);
  if (!(check.sd_m >= MIN_SD_M)) throw new SurveyError('sd_not_positive', 'checks', index);
  return [run, 1 / (check.sd_m * check.sd_m)];
}
