/** Levels and rises of a solved profile. Twin of webapp/survey/levels/values.py. */
import { gapExtent, gapSum } from './gaps.js';
import { priorCovariance, settledSums, tieRow } from './solution.js';
import { dot, solveLower } from '../numbers/linear_algebra.js';

/** @typedef {import('./gaps.js').GapExtent} GapExtent */
/** @typedef {import('./solution.js').LevelSolution} LevelSolution */
/**
 * @typedef {{settled: boolean, within: boolean, value_m: number | null, sd_m: number | null, low_m: number |
 *   null, high_m: number | null, low_sd_m: number | null, high_sd_m: number | null, low_slopes: number[],
 *   high_slopes: number[]}} LevelValue
 */

/** @param {LevelSolution} solution @param {number} station @returns {LevelValue} */
export function levelValue(solution, station) {
  const { walk, system, setup } = solution;
  if (isPlain(solution)) {
    const prior = priorCovariance(walk, setup, station, station);
    return plainValue(solution, solution.start_m + walk.rise_m[station], tieRow(solution, station), prior, 1);
  }
  let group = 0;
  while (group < system.stations.length && system.stations[group] <= station) group += 1;
  const base = group ? system.stations[group - 1] : 0;
  const reach = group ? system.reach[group - 1] : system.basis.map(() => 0);
  const sums = settledSums(solution);
  const free = setup.start_level_m === null && system.stations.length > 0;
  const extent =
    group === 0 && free // carried back from the first tie
      ? turned(gapExtent(system, sums, gapSum(walk, station, system.stations[0]), 0, 0))
      : gapExtent(system, sums, gapSum(walk, base, station), group, group);
  const constant = solution.start_m + walk.rise_m[station];
  const variance = priorCovariance(walk, setup, station, station);
  const shift = new Array(solution.shifts).fill(1);
  return valueFrom(solution, [constant, tieRow(solution, station), variance], shift, reach, extent);
}

/**
 * Level and spread of every station, or null where a reading is beyond the range.
 * @param {LevelSolution} solution @returns {[number[], number[]] | null}
 */
export function settledLevels(solution) {
  const {
    walk,
    setup,
    system,
    stations,
    lower,
    rest,
    unknown,
    shifts,
    white: seen,
    spread,
    start_m: start
  } = solution;
  if (walk.gaps.length > 0 || system.basis.length > 0) return null;
  const [count, ties] = [walk.chainage_m.length, stations.length];
  const levels = new Array(count);
  const spreads = new Array(count);
  const white = new Array(ties).fill(0);
  for (let k = 0; k < count; k += 1) {
    let [value, left] = [0, 0];
    let meets = 0;
    for (let i = 0; i < ties; i += 1) {
      let own = priorCovariance(walk, setup, k, stations[i]);
      for (let j = 0; j < i; j += 1) own -= lower[i][j] * white[j];
      own /= lower[i][i];
      white[i] = own;
      value += own * rest[i];
      left += own * own;
      if (shifts) meets += seen[0][i] * own;
    }
    value = start + walk.rise_m[k] + value;
    left = priorCovariance(walk, setup, k, k) - left;
    if (shifts) {
      value += unknown[0];
      const factor = 1 - meets;
      left += factor * (spread[0][0] * factor);
    }
    levels[k] = value;
    spreads[k] = left > 0 ? Math.sqrt(left) : 0;
  }
  return [levels, spreads];
}

/** @param {LevelSolution} solution @param {number} left @param {number} right @returns {LevelValue} */
export function riseValue(solution, left, right) {
  const { walk, system, setup } = solution;
  if (isPlain(solution)) return plainRise(solution, left, right);
  let [first, last] = [0, 0];
  for (const station of system.stations) {
    first += station <= left ? 1 : 0;
    last += station < right ? 1 : 0;
  }
  const wanted = gapSum(walk, left, right);
  const extent = gapExtent(system, settledSums(solution), wanted, first, Math.max(first, last));
  const constant = walk.rise_m[right] - walk.rise_m[left];
  const ours = tieRow(solution, left);
  const row = tieRow(solution, right).map((b, i) => b - ours[i]);
  let variance = priorCovariance(walk, setup, left, left) + priorCovariance(walk, setup, right, right);
  variance -= 2 * priorCovariance(walk, setup, left, right);
  const none = system.basis.map(() => 0);
  return valueFrom(solution, [constant, row, variance], new Array(solution.shifts).fill(0), none, extent);
}

/**
 * @param {LevelSolution} solution @param {number} prior @param {number[]} left @param {number[]} right
 * @param {number[]} leftUnknown @param {number[]} rightUnknown @returns {number}
 */
export function posteriorCovariance(solution, prior, left, right, leftUnknown, rightUnknown) {
  const own = prior - dot(left, right);
  if (leftUnknown.length === 0) return own;
  const ours = leftUnknown.map((f, i) => f - dot(solution.white[i], left));
  const theirs = rightUnknown.map((f, i) => f - dot(solution.white[i], right));
  return (
    own +
    dot(
      ours,
      solution.spread.map((row) => dot(row, theirs))
    )
  );
}

/** The same sum taken off instead of added. @param {GapExtent} extent @returns {GapExtent} */
function turned(extent) {
  return {
    settled: extent.settled,
    within: extent.within,
    low_m: extent.high_m === null ? null : -extent.high_m,
    high_m: extent.low_m === null ? null : -extent.low_m,
    low_slopes: extent.high_slopes.map((x) => -x),
    high_slopes: extent.low_slopes.map((x) => -x)
  };
}

/**
 * @param {LevelSolution} solution @param {[number, number[], number]} read its sum, its row, its variance
 * @param {number[]} shift @param {number[]} reach @param {GapExtent} extent @returns {LevelValue}
 */
function valueFrom(solution, [constant, row, variance], shift, reach, extent) {
  const white = row.length ? solveLower(solution.lower, row) : row;
  const plain = reach.length === 0; // no unknown rises that ties settle: most runs
  let fixed = constant + dot(white, solution.rest) + (plain ? 0 : dot(reach, settledSums(solution)));
  fixed += dot(shift, solution.unknown);
  const lowSlopes = plain ? reach : reach.map((a, i) => a + extent.low_slopes[i]);
  const highSlopes = plain ? reach : reach.map((a, i) => a + extent.high_slopes[i]);
  /** @param {number[]} slopes */
  const sd = (slopes) => {
    const unknown = plain ? shift : [...shift, ...slopes];
    const left = posteriorCovariance(solution, variance, white, white, unknown, unknown);
    return left > 0 ? Math.sqrt(left) : 0;
  };
  if (extent.low_m === null || extent.high_m === null) {
    return {
      settled: false,
      within: false,
      value_m: null,
      sd_m: null,
      low_m: null,
      high_m: null,
      low_sd_m: null,
      high_sd_m: null,
      low_slopes: lowSlopes,
      high_slopes: highSlopes
    };
  }
  const [low, high, lowSd] = [fixed + extent.low_m, fixed + extent.high_m, sd(lowSlopes)];
  if (extent.settled) {
    return {
      settled: true,
      within: true,
      value_m: low,
      sd_m: lowSd,
      low_m: low,
      high_m: low,
      low_sd_m: lowSd,
      high_sd_m: lowSd,
      low_slopes: lowSlopes,
      high_slopes: lowSlopes
    };
  }
  return {
    settled: false,
    within: extent.within,
    value_m: null,
    sd_m: null,
    low_m: low,
    high_m: high,
    low_sd_m: lowSd,
    high_sd_m: sd(highSlopes),
    low_slopes: lowSlopes,
    high_slopes: highSlopes
  };
}

/** @type {number[]} */
const NO_SLOPES = [];

/**
 * No reading beyond the range: most runs, for which every station must be quick.
 * @param {LevelSolution} solution
 */
function isPlain({ walk, system, shifts }) {
  return walk.gaps.length === 0 && system.basis.length === 0 && shifts < 2;
}

/** @param {LevelSolution} solution @param {number} left @param {number} right @returns {LevelValue} */
function plainRise(solution, left, right) {
  const { walk, setup, stations } = solution;
  const row = [];
  for (let i = 0; i < stations.length; i += 1) {
    row.push(
      priorCovariance(walk, setup, right, stations[i]) - priorCovariance(walk, setup, left, stations[i])
    );
  }
  let variance = priorCovariance(walk, setup, left, left) + priorCovariance(walk, setup, right, right);
  variance -= 2 * priorCovariance(walk, setup, left, right);
  return plainValue(solution, walk.rise_m[right] - walk.rise_m[left], row, variance, 0);
}

/**
 * As valueOf, where nothing is unknown but perhaps the start.
 * @param {LevelSolution} solution @param {number} constant @param {number[]} row @param {number} variance
 * @param {number} shift share of the start's own shift @returns {LevelValue}
 */
function plainValue(solution, constant, row, variance, shift) {
  const { lower, rest, unknown, shifts, white: seen, spread } = solution;
  const white = row.length ? solveLower(lower, row) : row;
  let value = constant + dot(white, rest);
  let left = variance - dot(white, white);
  if (shifts) {
    value += shift * unknown[0];
    const factor = shift - dot(seen[0], white);
    left += factor * (spread[0][0] * factor);
  }
  const sd = left > 0 ? Math.sqrt(left) : 0;
  return {
    settled: true,
    within: true,
    value_m: value,
    sd_m: sd,
    low_m: value,
    high_m: value,
    low_sd_m: sd,
    high_sd_m: sd,
    low_slopes: NO_SLOPES,
    high_slopes: NO_SLOPES
  };
}
