/** Levels along a run with their uncertainty. Twin of webapp/survey/levels/levels.py. */
import { mostSuspicious, suspects, tieChecks } from './checks.js';
import { gapAlone, gapExtent } from './gaps.js';
import { walkLevels } from './model.js';
import { priorCovariance, settledSums, solveLevels } from './solution.js';
import { levelValue, posteriorCovariance, riseValue, settledLevels } from './values.js';
import { dot, solveLower } from '../numbers/linear_algebra.js';

/** @typedef {import('./checks.js').Suspect} Suspect */
/** @typedef {import('./checks.js').TieCheck} TieCheck */
/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/** @typedef {import('./solution.js').LevelSolution} LevelSolution */
/**
 * @typedef {{chainage_m: number, level_m: number | null, sd_m: number | null, low_m: number | null, high_m:
 *   number | null, low_sd_m: number | null, high_sd_m: number | null, known: string, prior_level_m: number,
 *   prior_sd_m: number}} LevelStation
 */
/**
 * @typedef {{reading: number, length_m: number, own_m: number, status: string, consistent: boolean,
 *   low_m: number | null, high_m: number | null, low_deg: number | null, high_deg: number | null,
 *   rise_m: number | null, sd_m: number | null, sine: number | null, deg: number | null,
 *   sd_deg: number | null}} SolvedGap
 */
/**
 * @typedef {{stations: LevelStation[], ties: TieCheck[], gaps: SolvedGap[], suspects: Suspect[], blunders:
 *   Suspect[], zero_deg: number, zero_sd_deg: number, scale: number, scale_sd: number, rise_m: number | null,
 *   rise_sd_m: number | null, beyond_limit: number[], solution: LevelSolution}} LevelProfile
 */
/** @typedef {{value: number, sd: number, with_unknown: number[]}} Common */

const UPRIGHT = 1 - 1e-12; // a sine beyond this differs from 1 by rounding alone
const NOTHING = 1e-9; // coefficients are shares between 0 and 1; smaller than this is zero

/**
 * @param {LevelReading[]} readings
 * @param {LevelTie[]} ties
 * @param {LevelSetup} setup
 * @returns {LevelProfile}
 */
export function levelProfile(readings, ties, setup) {
  const walk = walkLevels(readings, ties, setup);
  const solution = solveLevels(walk, ties, setup);
  const quick = settledLevels(solution);
  const stations =
    quick === null ? walk.chainage_m.map((_, k) => stationOf(solution, k)) : settledStations(solution, quick);
  const zero = common(
    solution,
    walk.common.map((x) => dot(walk.zero_row, x)),
    Math.sqrt(dot(walk.zero_row, walk.zero_row))
  );
  const scale = common(
    solution,
    walk.rise_m.map((x) => x * (setup.scale_sd * setup.scale_sd)),
    setup.scale_sd
  );
  const found = suspects(solution);
  const rise = riseValue(solution, 0, stations.length - 1);
  /** @type {number[]} */
  const beyond = [];
  readings.forEach((r, i) => {
    if (r.deg !== null && Math.abs(r.deg) > (setup.limit_deg ?? 10)) beyond.push(i);
  });
  return {
    stations,
    ties: tieChecks(solution),
    gaps: walk.gaps.map((_, u) => gapOf(solution, u, scale)),
    suspects: found,
    blunders: mostSuspicious(found),
    zero_deg: walk.zero_deg + zero.value,
    zero_sd_deg: zero.sd,
    scale: scale.value,
    scale_sd: scale.sd,
    rise_m: rise.value_m,
    rise_sd_m: rise.sd_m,
    beyond_limit: beyond,
    solution
  };
}

/** @param {LevelSolution} solution @param {number} k @param {boolean} settled @returns {string} */
function knownAt({ walk, setup, stations }, k, settled) {
  if (stations.includes(k)) return 'adjusted';
  if (!settled) return 'bounded';
  if (k === 0) return setup.start_level_m === null ? 'assumed' : stations.length ? 'adjusted' : 'measured';
  return walk.assumed[k] ? 'assumed' : 'computed';
}

/** @param {LevelSolution} solution @param {[number[], number[]]} quick @returns {LevelStation[]} */
function settledStations(solution, [levels, spreads]) {
  const { walk, setup, start_m: start, start_sd_m: startSd } = solution;
  const free = startSd * startSd;
  const stations = new Array(levels.length);
  for (let k = 0; k < levels.length; k += 1) {
    const [level, sd] = [levels[k], spreads[k]];
    stations[k] = {
      chainage_m: walk.chainage_m[k],
      level_m: level,
      sd_m: sd,
      low_m: level,
      high_m: level,
      low_sd_m: sd,
      high_sd_m: sd,
      known: knownAt(solution, k, true),
      prior_level_m: start + walk.rise_m[k],
      prior_sd_m: Math.sqrt(priorCovariance(walk, setup, k, k) + free)
    };
  }
  return stations;
}

/** @param {LevelSolution} solution @param {number} k @returns {LevelStation} */
function stationOf(solution, k) {
  const { walk, setup } = solution;
  const value = levelValue(solution, k);
  const provenance = knownAt(solution, k, value.settled);
  const both =
    value.low_slopes === value.high_slopes ||
    value.low_slopes.every((a, i) => Math.abs(a - value.high_slopes[i]) < NOTHING);
  const prior = priorCovariance(walk, setup, k, k) + solution.start_sd_m * solution.start_sd_m;
  return {
    chainage_m: walk.chainage_m[k],
    level_m: value.value_m,
    sd_m: both ? value.low_sd_m : null,
    low_m: value.low_m,
    high_m: value.high_m,
    low_sd_m: value.low_sd_m,
    high_sd_m: value.high_sd_m,
    known: provenance,
    prior_level_m: solution.start_m + walk.rise_m[k],
    prior_sd_m: Math.sqrt(prior)
  };
}

/**
 * Correction of an error common to all, its standard deviation, its covariance with the unknowns.
 * @param {LevelSolution} solution @param {number[]} covariance @param {number} priorSd @returns {Common}
 */
function common(solution, covariance, priorSd) {
  const white = solveLower(
    solution.lower,
    solution.stations.map((k) => covariance[k])
  );
  const none = solution.white.map(() => 0);
  const variance = posteriorCovariance(solution, priorSd * priorSd, white, white, none, none);
  const seen = solution.white.map((column) => dot(column, white));
  const withUnknown = solution.spread.map((row) => -dot(row, seen));
  return {
    value: dot(white, solution.rest),
    sd: variance > 0 ? Math.sqrt(variance) : 0,
    with_unknown: withUnknown
  };
}

/** @param {LevelSolution} solution @param {number} u @param {Common} scale @returns {SolvedGap} */
function gapOf(solution, u, scale) {
  const [gap, system] = [solution.walk.gaps[u], solution.system];
  const [alone, group, seen] = gapAlone(system, u);
  const extent = gapExtent(system, settledSums(solution), alone, group, group);
  const [low, high] = [extent.low_m, extent.high_m];
  const ratio = 1 + scale.value;
  const length = gap.length_m * ratio;
  const head = { reading: gap.reading, length_m: gap.length_m, own_m: gap.own_m };
  const bounds = { low_m: low, high_m: high, low_deg: angle(low, length), high_deg: angle(high, length) };
  if (!extent.settled || low === null) {
    const open = { rise_m: null, sd_m: null, sine: null, deg: null, sd_deg: null };
    return { ...head, status: seen ? 'bounded' : 'open', consistent: extent.within, ...bounds, ...open };
  }
  const unknown = [...new Array(solution.shifts).fill(0), ...extent.low_slopes];
  const none = solution.stations.map(() => 0);
  const variance = posteriorCovariance(solution, 0, none, none, unknown, unknown);
  const sine = low / length;
  let spread = variance / length ** 2 + ((sine * scale.sd) / ratio) ** 2;
  spread -= ((2 * sine) / (length * ratio)) * dot(unknown, scale.with_unknown);
  const sdDeg =
    Math.abs(upright(sine)) < 1
      ? ((Math.sqrt(Math.max(spread, 0)) / Math.sqrt(1 - sine * sine)) * 180) / Math.PI
      : null;
  return {
    ...head,
    status: 'solved',
    consistent: gap.low_m <= low && low <= gap.high_m,
    ...bounds,
    rise_m: low,
    sd_m: Math.sqrt(Math.max(variance, 0)),
    sine,
    deg: bounds.low_deg,
    sd_deg: sdDeg
  };
}

/**
 * Inclination of a rise over a length; upright where the rise is more than the length.
 * @param {number | null} riseM
 * @param {number} lengthM
 * @returns {number | null}
 */
function angle(riseM, lengthM) {
  if (riseM === null) return null;
  return (Math.asin(upright(riseM / lengthM)) * 180) / Math.PI;
}

/**
 * The sine, or that of upright where rounding alone keeps it from being so.
 * @param {number} sine
 * @returns {number}
 */
function upright(sine) {
  return sine < -UPRIGHT ? -1 : sine > UPRIGHT ? 1 : sine;
}
