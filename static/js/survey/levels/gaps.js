/**
 * Unknown rises: which sums of them the ties settle, and the bounds of the rest. Twin of
 * webapp/survey/levels/gaps.py.
 */
import { leastInBox } from '../numbers/bounded_sums.js';
import { dot, express } from '../numbers/linear_algebra.js';

/** @typedef {import('./model.js').LevelWalk} LevelWalk */
/** @typedef {{parts: [number, number][], first: number, last: number}} GapSum */
/**
 * @typedef {{stations: number[], rows: GapSum[], basis: number[], factors: number[][], reach: number[][],
 *   linked: number[][], low_m: number[], high_m: number[], length_m: number[]}} GapSystem
 */
/**
 * @typedef {{settled: boolean, within: boolean, low_m: number | null, high_m: number | null, low_slopes:
 *   number[], high_slopes: number[]}} GapExtent
 */

const SLACK_M = 1e-9;
/** @type {GapSum} */
const NONE = { parts: [], first: 0, last: 0 };

/** @param {LevelWalk} walk @param {number} left @param {number} right @returns {GapSum} */
export function gapSum(walk, left, right) {
  if (walk.gaps.length === 0) return NONE; // most runs; this is asked for at every station
  /** @type {[number, number][]} */
  const parts = [];
  for (const [gap, share] of walk.gap_parts[left]) {
    let further = 1;
    for (const [other, soFar] of walk.gap_parts[right]) {
      if (other === gap) further = soFar;
    }
    if (further - share !== 0) parts.push([gap, further - share]);
  }
  const first = walk.gaps_done[left] + walk.gap_parts[left].length;
  for (const [gap, share] of walk.gap_parts[right]) {
    if (gap >= first) parts.push([gap, share]);
  }
  const last = walk.gaps_done[right];
  return last > first ? { parts, first, last } : { parts, first: 0, last: 0 };
}

/** @param {LevelWalk} walk @param {number[]} stations @param {boolean} anchored @returns {GapSystem} */
export function gapSystem(walk, stations, anchored) {
  const places = [0, ...stations];
  const rows = stations.map((_, i) => gapSum(walk, places[i], places[i + 1]));
  const linked = linkedGroups(walk, stations);
  /** @type {number[]} */
  const basis = [];
  const combined = rows.map((row, g) => {
    if (g === 0 && !anchored) return [];
    const near = basis.filter((b) => b >= linked[g][0]);
    const found = expressed(
      row,
      near.map((b) => rows[b])
    );
    if (found === null) {
      basis.push(g);
      return basis.map((b) => (b === g ? 1 : 0));
    }
    return basis.map((b) => (near.includes(b) ? found[near.indexOf(b)] : 0));
  });
  const factors = combined.map((row) => [...row, ...new Array(basis.length - row.length).fill(0)]);
  let total = new Array(basis.length).fill(0);
  const reach = factors.map((factor) => {
    total = total.map((a, i) => a + factor[i]);
    return total;
  });
  const [low, high, length] = [[0], [0], [0]];
  for (const gap of walk.gaps) {
    low.push(low[low.length - 1] + gap.low_m);
    high.push(high[high.length - 1] + gap.high_m);
    length.push(length[length.length - 1] + gap.length_m);
  }
  return {
    stations: [...stations],
    rows,
    basis,
    factors,
    reach,
    linked,
    low_m: low,
    high_m: high,
    length_m: length
  };
}

/**
 * @param {GapSystem} system @param {number[]} settled @param {GapSum} wanted
 * @param {number} firstGroup @param {number} lastGroup @returns {GapExtent}
 */
export function gapExtent(system, settled, wanted, firstGroup, lastGroup) {
  const slopes = new Array(system.basis.length).fill(0);
  if (wanted.parts.length === 0 && wanted.last <= wanted.first) {
    return { settled: true, within: true, low_m: 0, high_m: 0, low_slopes: slopes, high_slopes: slopes };
  }
  const [first, last] = [system.linked[firstGroup][0], system.linked[lastGroup][1]];
  const near = system.basis
    .map((_, i) => i)
    .filter((i) => first <= system.basis[i] && system.basis[i] <= last);
  const rows = near.map((i) => system.rows[system.basis[i]]);
  const found = expressed(wanted, rows);
  if (found === null) return bounded(system, settled, wanted, near);
  near.forEach((i, n) => {
    slopes[i] = found[n];
  });
  const value = dot(slopes, settled);
  return {
    settled: true,
    within: true,
    low_m: value,
    high_m: value,
    low_slopes: slopes,
    high_slopes: slopes
  };
}

/** @param {GapSystem} system @param {number} gap @returns {[GapSum, number, boolean]} */
export function gapAlone(system, gap) {
  const group = system.rows.findIndex((row) => shareOf(row, gap) !== 0);
  const seen = group >= 0 && system.factors[group].some((factor) => factor !== 0);
  return [{ parts: [[gap, 1]], first: 0, last: 0 }, group < 0 ? system.rows.length : group, seen];
}

/**
 * Groups that an unknown rise ties together because a tie lies within its length.
 * @param {LevelWalk} walk @param {number[]} stations @returns {number[][]}
 */
function linkedGroups(walk, stations) {
  const linked = [...stations.map((_, g) => [g, g]), [stations.length, stations.length]];
  stations.forEach((station, g) => {
    if (walk.gap_parts[station].length) linked[g + 1][0] = linked[g][0];
  });
  for (let g = stations.length - 1; g >= 0; g -= 1) {
    if (linked[g + 1][0] === linked[g][0]) linked[g][1] = linked[g + 1][1];
  }
  return linked;
}

/** @param {GapSum} row @param {number} gap @returns {number} */
function shareOf(row, gap) {
  for (const [other, share] of row.parts) {
    if (other === gap) return share;
  }
  return row.first <= gap && gap < row.last ? 1 : 0;
}

/**
 * Cut the gaps where any of the sums changes its share: [first, last + 1] of each piece.
 * @param {GapSum[]} sums @returns {[number, number][]}
 */
function piecesOf(sums) {
  /** @type {Set<number>} */
  const cuts = new Set();
  for (const row of sums) {
    if (row.last > row.first) cuts.add(row.first).add(row.last);
    for (const [gap] of row.parts) cuts.add(gap).add(gap + 1);
  }
  const edges = [...cuts].sort((a, b) => a - b);
  /** @type {[number, number][]} */
  const pieces = [];
  for (let i = 0; i + 1 < edges.length; i += 1) {
    if (sums.some((row) => shareOf(row, edges[i]) !== 0)) pieces.push([edges[i], edges[i + 1]]);
  }
  return pieces;
}

/** @param {GapSum} wanted @param {GapSum[]} rows @returns {number[] | null} */
function expressed(wanted, rows) {
  const pieces = piecesOf([wanted, ...rows]);
  const table = rows.map((row) => pieces.map(([start]) => shareOf(row, start)));
  return express(
    pieces.map(([start]) => shareOf(wanted, start)),
    table
  );
}

/**
 * @param {GapSystem} system
 * @param {number[]} settled
 * @param {GapSum} wanted
 * @param {number[]} near
 * @returns {GapExtent}
 */
function bounded(system, settled, wanted, near) {
  const rows = near.map((i) => system.rows[system.basis[i]]);
  const pieces = piecesOf([wanted, ...rows]);
  const table = rows.map((row) => pieces.map(([start]) => shareOf(row, start)));
  const sums = near.map((i) => settled[i]);
  const weights = pieces.map(([start]) => shareOf(wanted, start));
  const length = pieces.map(([a, b]) => system.length_m[b] - system.length_m[a]);
  const low = pieces.map(([a, b]) => system.low_m[b] - system.low_m[a]);
  const high = pieces.map(([a, b]) => system.high_m[b] - system.high_m[a]);
  /** @param {number[]} slopes @param {number} sign */
  const widened = (slopes, sign) => {
    const all = new Array(system.basis.length).fill(0);
    near.forEach((i, n) => {
      all[i] = sign * slopes[n];
    });
    return all;
  };
  for (const [from, to] of [
    [low, high],
    [length.map((x) => -x), length]
  ]) {
    const least = leastInBox(weights, table, sums, from, to, SLACK_M);
    const most = leastInBox(
      weights.map((w) => -w),
      table,
      sums,
      from,
      to,
      SLACK_M
    );
    if (least !== null && most !== null) {
      return {
        settled: false,
        within: from === low,
        low_m: least.value,
        high_m: -most.value,
        low_slopes: widened(least.slopes, 1),
        high_slopes: widened(most.slopes, -1)
      };
    }
  }
  const none = system.basis.map(() => 0);
  return { settled: false, within: false, low_m: null, high_m: null, low_slopes: none, high_slopes: none };
}
