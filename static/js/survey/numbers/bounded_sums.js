/**
 * The least value of a weighted sum of quantities that lie between limits and obey a few sums.
 * Twin of webapp/survey/numbers/bounded_sums.py.
 */
import { SurveyError } from '../errors.js';

/** @typedef {{value: number, slopes: number[]}} Least */
/**
 * @typedef {{rows: number[][], right: number[], width: number[], basis: number[], upper: boolean[]}} Table
 */

const TINY = 1e-11;
const ROUNDS = 10_000;

/**
 * @param {number[]} weights @param {number[][]} rows @param {number[]} sums
 * @param {number[]} low @param {number[]} high @param {number} slack @returns {Least | null}
 */
export function leastInBox(weights, rows, sums, low, high, slack) {
  const [count, size] = [weights.length, rows.length];
  let value = 0;
  for (let j = 0; j < count; j += 1) value += weights[j] * low[j];
  const [table, signs] = start(rows, sums, low, high);
  run(table, [...new Array(count).fill(0), ...new Array(size).fill(1)], count);
  let missed = 0;
  table.basis.forEach((column, row) => {
    if (column >= count) missed += Math.abs(table.right[row]);
  });
  if (missed > slack) return null;
  // what is left of a missed sum stays out of the way
  for (let i = 0; i < size; i += 1) table.width[count + i] = 0;
  const cost = [...weights, ...new Array(size).fill(0)];
  run(table, cost, count);
  for (let j = 0; j < count; j += 1) {
    if (table.upper[j]) value += cost[j] * table.width[j];
  }
  table.basis.forEach((column, row) => {
    value += cost[column] * table.right[row];
  });
  const slopes = rows.map((_, i) => {
    let slope = 0;
    table.basis.forEach((column, row) => {
      slope += cost[column] * table.rows[row][count + i];
    });
    return slope * signs[i];
  });
  return { value, slopes };
}

/**
 * A table that measures every x from its lower limit, with one artificial column per row.
 * @param {number[][]} rows
 * @param {number[]} sums
 * @param {number[]} low
 * @param {number[]} high
 * @returns {[Table, number[]]}
 */
function start(rows, sums, low, high) {
  const [count, size] = [low.length, rows.length];
  /** @type {number[][]} */
  const body = [];
  /** @type {number[]} */
  const right = [];
  /** @type {number[]} */
  const signs = [];
  rows.forEach((row, i) => {
    let rest = sums[i];
    for (let j = 0; j < count; j += 1) rest -= row[j] * low[j];
    const sign = rest < 0 ? -1 : 1;
    body.push([...row.map((factor) => sign * factor), ...rows.map((_, j) => (j === i ? 1 : 0))]);
    right.push(sign * rest);
    signs.push(sign);
  });
  const width = [...low.map((a, j) => high[j] - a), ...new Array(size).fill(Infinity)];
  const basis = rows.map((_, i) => count + i);
  return [{ rows: body, right, width, basis, upper: new Array(count + size).fill(false) }, signs];
}

/**
 * Improve until no column of the first `count` lowers the cost.
 * @param {Table} table
 * @param {number[]} cost
 * @param {number} count
 */
function run(table, cost, count) {
  for (let round = 0; round < ROUNDS; round += 1) {
    const column = entering(table, cost, count);
    if (column < 0) return;
    exchange(table, column);
  }
  throw new SurveyError('bounds_not_found', 'rows');
}

/** @param {Table} table @param {number[]} cost @param {number} count @returns {number} */
function entering(table, cost, count) {
  for (let j = 0; j < count; j += 1) {
    if (table.basis.includes(j) || table.width[j] <= 0) continue;
    let reduced = cost[j];
    for (let row = 0; row < table.basis.length; row += 1)
      reduced -= cost[table.basis[row]] * table.rows[row][j];
    if (table.upper[j] ? reduced > TINY : reduced < -TINY) return j;
  }
  return -1;
}

/** Move one column from its limit as far as the others allow. @param {Table} table @param {number} column */
function exchange(table, column) {
  const way = table.upper[column] ? -1 : 1;
  let step = table.width[column];
  let leaving = -1;
  let toUpper = false;
  for (let row = 0; row < table.basis.length; row += 1) {
    const rate = way * table.rows[row][column];
    if (Math.abs(rate) < TINY) continue;
    let room =
      rate > 0 ? table.right[row] / rate : (table.width[table.basis[row]] - table.right[row]) / -rate;
    room = room > 0 ? room : 0;
    if (room < step || (room === step && leaving >= 0 && table.basis[row] < table.basis[leaving])) {
      [step, leaving, toUpper] = [room, row, rate < 0];
    }
  }
  for (let row = 0; row < table.basis.length; row += 1)
    table.right[row] -= way * step * table.rows[row][column];
  if (leaving < 0) {
    table.upper[column] = !table.upper[column];
    return;
  }
  const value = way < 0 ? table.width[column] - step : step;
  table.upper[table.basis[leaving]] = toUpper;
  table.upper[column] = false;
  table.basis[leaving] = column;
  table.right[leaving] = value;
  const pivot = table.rows[leaving][column];
  const ours = table.rows[leaving].map((factor) => factor / pivot);
  table.rows[leaving] = ours;
  for (let row = 0; row < table.basis.length; row += 1) {
    const factor = table.rows[row][column];
    if (row !== leaving && factor !== 0)
      table.rows[row] = table.rows[row].map((a, k) => a - factor * ours[k]);
  }
}
