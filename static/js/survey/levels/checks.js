/** Do the ties agree with the readings? Twin of webapp/survey/levels/checks.py. */
import { dot, solveLower } from '../numbers/linear_algebra.js';

/** @typedef {import('./model.js').LevelWalk} LevelWalk */
/** @typedef {import('./solution.js').LevelSolution} LevelSolution */
/**
 * @typedef {{tie: number, station: number, before_m: number | null, before_sd_m: number | null,
 *   before_standardised: number | null, after_m: number, rest_m: number | null, rest_sd_m: number | null,
 *   standardised: number | null}} TieCheck
 */
/**
 * @typedef {{kind: string, index: number | null, from_m: number, to_m: number, size_m: number, standardised:
 *   number}} Suspect
 */

const BLUNDER_AT = 3.29; // Baarda: two-sided, one in a thousand
const MIN_CHECK = 1e-4; // with less redundancy than this an observation is not checked by the others
const EQUAL = 1e-6;

/** @param {LevelSolution} solution @returns {TieCheck[]} */
export function tieChecks(solution) {
  const [pull, columns] = pullAndColumns(solution);
  const start = solution.start_sd_m * solution.start_sd_m;
  return solution.stations.map((station, i) => {
    const clear = solution.walk.gaps_done[station] === 0 && solution.walk.gap_parts[station].length === 0;
    const before = clear ? solution.before_m[i] : null;
    const sd = clear ? Math.sqrt(dot(solution.lower[i], solution.lower[i]) + start) : null;
    const found = tested(
      pull,
      columns,
      pull.map((_, j) => (j === i ? 1 : 0)),
      solution
    );
    return {
      tie: solution.order[i],
      station,
      before_m: before,
      before_sd_m: sd,
      before_standardised: before !== null && sd ? before / sd : null,
      after_m: solution.sd_m[i] * solution.sd_m[i] * pull[i],
      rest_m: found ? found[0] : null,
      rest_sd_m: found ? found[1] : null,
      standardised: found ? found[2] : null
    };
  });
}

/** @param {LevelSolution} solution @returns {Suspect[]} */
export function suspects(solution) {
  const { walk, stations } = solution;
  const [pull, columns] = pullAndColumns(solution);
  /** @type {Suspect[]} */
  const found = [];
  /**
   * @param {string} kind
   * @param {number | null} index
   * @param {number} first
   * @param {number} last
   * @param {number[]} pattern
   */
  const add = (kind, index, first, last, pattern) => {
    const result = tested(pull, columns, pattern, solution);
    if (result === null) return;
    const [from, to] = [walk.chainage_m[first], walk.chainage_m[last]];
    found.push({ kind, index, from_m: from, to_m: to, size_m: result[0], standardised: result[2] });
  };
  stations.forEach((station, i) => {
    add(
      'tie',
      solution.order[i],
      station,
      station,
      stations.map((_, j) => (j === i ? 1 : 0))
    );
  });
  if (solution.setup.start_level_m !== null)
    add(
      'start',
      null,
      0,
      0,
      stations.map(() => -1)
    );
  let before = 0;
  stations.forEach((station, i) => {
    const index = heaviest(walk, walk.done_count[before], walk.done_count[station]);
    if (index !== null)
      add(
        'readings',
        index,
        before,
        station,
        stations.map((_, j) => (j >= i ? -1 : 0))
      );
    before = station;
  });
  return found;
}

/** @param {Suspect[]} found @returns {Suspect[]} */
export function mostSuspicious(found) {
  let worst = BLUNDER_AT;
  for (const one of found) worst = Math.abs(one.standardised) > worst ? Math.abs(one.standardised) : worst;
  return found.filter((s) => Math.abs(s.standardised) > Math.max(BLUNDER_AT, worst * (1 - EQUAL)));
}

/**
 * Misclosures divided by their covariance, after the adjustment, and the columns of the inverse triangle.
 * @param {LevelSolution} solution @returns {[number[], number[][]]}
 */
function pullAndColumns(solution) {
  const { stations } = solution;
  const columns = stations.map((_, i) =>
    solveLower(
      solution.lower,
      stations.map((__, j) => (i === j ? 1 : 0))
    )
  );
  return [columns.map((column) => dot(column, solution.rest)), columns];
}

/**
 * Size, its standard deviation and the ratio of a blunder with this pattern in the ties.
 * @param {number[]} pull
 * @param {number[][]} columns
 * @param {number[]} pattern
 * @param {LevelSolution} solution
 * @returns {[number, number, number] | null}
 */
function tested(pull, columns, pattern, solution) {
  let mixed = new Array(pull.length).fill(0);
  pattern.forEach((factor, i) => {
    mixed = mixed.map((a, n) => a + factor * columns[i][n]);
  });
  const whole = dot(mixed, mixed);
  const seen = solution.white.map((column) => dot(mixed, column));
  const checked =
    whole -
    dot(
      seen,
      solution.spread.map((row) => dot(row, seen))
    );
  if (!(checked > MIN_CHECK * whole)) return null;
  const size = dot(pattern, pull) / checked;
  return [size, 1 / Math.sqrt(checked), size * Math.sqrt(checked)];
}

/**
 * Of the known readings that end in a section, the one with the largest effect on its end.
 * @param {LevelWalk} walk @param {number} first @param {number} last @returns {number | null}
 */
function heaviest(walk, first, last) {
  let best = 0;
  /** @type {number | null} */
  let index = null;
  for (let i = first; i < last; i += 1) {
    const effect = walk.acts_m[i] * walk.acts_m[i] * walk.var[i];
    if (walk.kept[i] >= 0 && effect > best * (1 + EQUAL)) [best, index] = [effect, walk.kept[i]];
  }
  return index;
}
