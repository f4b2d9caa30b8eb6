/** Levels conditioned on the ties. Twin of webapp/survey/levels/solution.py. */
import { gapSystem } from './gaps.js';
import { SAME_PLACE_M } from './input.js';
import { randomCovariance } from './model.js';
import { cholesky, dot, inverse, solveLower } from '../numbers/linear_algebra.js';

/** @typedef {import('./gaps.js').GapSystem} GapSystem */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/** @typedef {import('./model.js').LevelWalk} LevelWalk */
/**
 * @typedef {{walk: LevelWalk, setup: LevelSetup, start_m: number, start_sd_m: number, order: number[],
 *   stations: number[], sd_m: number[], before_m: number[], system: GapSystem, shifts: number, lower:
 *   number[][], white: number[][], rest: number[], unknown: number[], spread: number[][]}} LevelSolution
 */

const MIN_TIE_SD_M = 1e-5; // no level is known better than a hundredth of a millimetre
const FREE_START_SD_M = 1000; // start level not known: as good as no prior

/** @param {LevelWalk} walk @param {LevelTie[]} ties @param {LevelSetup} setup @returns {LevelSolution} */
export function solveLevels(walk, ties, setup) {
  const order = ties.map((_, i) => i).sort((a, b) => ties[a].chainage_m - ties[b].chainage_m);
  const stations = tieStations(
    walk,
    order.map((i) => ties[i].chainage_m)
  );
  const [startM, startSd] = startOf(walk, setup, order.length ? ties[order[0]] : null, stations);
  const sds = order.map((i) => (ties[i].sd_m > MIN_TIE_SD_M ? ties[i].sd_m : MIN_TIE_SD_M));
  const system = gapSystem(walk, stations, setup.start_level_m !== null);
  const matrix = stations.map((a) => stations.map((b) => priorCovariance(walk, setup, a, b)));
  sds.forEach((sd, i) => {
    matrix[i][i] += sd * sd;
  });
  const lower = cholesky(matrix);
  const before = order.map((i, n) => ties[i].level_m - startM - walk.rise_m[stations[n]]);
  const shifts = startSd > 0 ? 1 : 0;
  const columns = shifts ? [order.map(() => 1)] : [];
  system.basis.forEach((_, i) => {
    columns.push(system.reach.map((row) => row[i]));
  });
  const white = columns.map((column) => solveLower(lower, column));
  let rest = solveLower(lower, before);
  const normal = white.map((a) => white.map((b) => dot(a, b)));
  if (shifts) normal[0][0] += 1 / (startSd * startSd);
  const spread = inverse(normal);
  const right = white.map((column) => dot(column, rest));
  const unknown = spread.map((row) => dot(row, right));
  white.forEach((column, i) => {
    rest = rest.map((a, n) => a - unknown[i] * column[n]);
  });
  return {
    walk,
    setup,
    start_m: startM,
    start_sd_m: startSd,
    order,
    stations,
    sd_m: sds,
    before_m: before,
    system,
    shifts,
    lower,
    white,
    rest,
    unknown,
    spread
  };
}

/** @param {LevelSolution} solution @returns {number[]} */
export function settledSums(solution) {
  return solution.unknown.slice(solution.shifts);
}

/** @param {LevelSolution} solution @param {number} station @returns {number[]} */
export function tieRow(solution, station) {
  return solution.stations.map((tie) => priorCovariance(solution.walk, solution.setup, station, tie));
}

/**
 * @param {LevelWalk} walk
 * @param {LevelSetup} setup
 * @param {number} left
 * @param {number} right
 * @returns {number}
 */
export function priorCovariance(walk, setup, left, right) {
  const common = dot(walk.common[left], walk.common[right]);
  const scale = setup.scale_sd * setup.scale_sd * walk.rise_m[left] * walk.rise_m[right];
  return randomCovariance(walk, left, right) + common + scale;
}

/**
 * Start level and its standard deviation; not known and a tie: whatever the tie makes of it.
 * @param {LevelWalk} walk @param {LevelSetup} setup @param {LevelTie | null} tie @param {number[]} stations
 * @returns {[number, number]}
 */
function startOf(walk, setup, tie, stations) {
  if (setup.start_level_m !== null) return [setup.start_level_m, setup.start_sd_m];
  if (tie === null) return [0, 0];
  return [tie.level_m - walk.rise_m[stations[0]], FREE_START_SD_M];
}

/** @param {LevelWalk} walk @param {number[]} chainages @returns {number[]} */
function tieStations(walk, chainages) {
  let k = 0;
  return chainages.map((place) => {
    while (k + 1 < walk.chainage_m.length && walk.chainage_m[k + 1] <= place + SAME_PLACE_M) k += 1;
    return k;
  });
}
