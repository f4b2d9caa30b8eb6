/** All that the readings of a run teach. Twin of webapp/survey/levels/learn.py. */
import { courseOf, stepsOf, variancesOf, WALK_M } from './course.js';
import { awayFromGaps, doubted, oddUnits } from './doubt.js';
import { acrossOf, noiseOf, seenOf } from './seen.js';
import { GAP } from './units.js';

/** @typedef {import('./course.js').Course} Course */
/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./units.js').Unit} Unit */
/** @typedef {{mean: number, var: number, course: number, zero: number}} Slope */
/**
 * @typedef {{seen: (Seen | null)[], usual: (Seen | null)[], steps: import('./course.js').Step[], variances:
 *   import('./course.js').Variances, course: Course, noise: import('./seen.js').Noise, odd:
 *   import('./doubt.js').Odd[]}} Learnt
 */

/** @type {Slope} */
export const FLAT = { mean: 0, var: 0, course: 0, zero: 0 };

/** @param {Unit[]} units @param {LevelReading[]} chosen @param {LevelSetup} setup @returns {Learnt} */
export function learn(units, chosen, setup) {
  const steps = stepsOf(units, setup);
  const zeroVar = setup.zero_sd_deg * setup.zero_sd_deg;
  const noise = noiseOf(units, chosen, setup);
  const plain = seenOf(units, chosen, setup, noise, 0);
  const usual = awayFromGaps(units, plain);
  const variances = variancesOf(usual, steps, zeroVar);
  const odd = oddUnits(usual, courseOf(usual, steps, variances, zeroVar), variances.pipe);
  const across = acrossOf(units, chosen, setup, noise, variances.pipe);
  const seen = doubted(seenOf(units, chosen, setup, noise, across), odd);
  const near = awayFromGaps(units, seen);
  const course = courseOf(near, steps, variances, zeroVar);
  return { seen, usual: near, steps, variances, course, noise, odd };
}

/** @param {number} u @param {Unit} unit @param {Learnt} learnt @returns {Slope} */
export function slopeOf(u, unit, { seen: all, usual, course, variances }) {
  if (unit.kind === GAP) return FLAT;
  const seen = all[u];
  const length = unit.to_m - unit.from_m;
  if (seen === null) {
    const pipes = (variances.pipe * unit.pipes_m2) / (length * length);
    const own = pipes + (variances.walk * length) / (12 * WALK_M);
    return { mean: course.mean[u], var: own, course: 1, zero: -course.zero[u] };
  }
  let [own, weight] = [seen.var, 1];
  if (unit.doubt_m2 !== null) own += (variances.pipe * unit.doubt_m2) / (length * length);
  else if (usual[u] !== null) {
    weight = variances.pipe / (variances.pipe + seen.var);
    own *= weight;
  }
  // it may be so or not: half of each
  if (seen.off !== 0) [weight, own] = [0.5, (variances.pipe + seen.off * seen.off) / 4];
  const mean = weight * (seen.mean - seen.zero * course.zero_deg) + (1 - weight) * course.mean[u];
  const zero = weight * seen.zero + (1 - weight) * course.zero[u];
  return { mean, var: own, course: 1 - weight, zero: -zero };
}
