/** Small dense linear algebra. Twin of webapp/survey/numbers/linear_algebra.py. */
import { SurveyError } from '../errors.js';

const NOTHING = 1e-9; // coefficients are shares between 0 and 1; smaller than this is zero

/** @param {number[][]} matrix @returns {number[][]} */
export function cholesky(matrix) {
  const size = matrix.length;
  const lower = matrix.map(() => new Array(size).fill(0));
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let rest = matrix[i][j];
      for (let k = 0; k < j; k += 1) rest -= lower[i][k] * lower[j][k];
      if (i !== j) lower[i][j] = rest / lower[j][j];
      else if (rest > 0) lower[i][i] = Math.sqrt(rest);
      else throw new SurveyError('matrix_not_positive', 'matrix', i);
    }
  }
  return lower;
}

/** @param {number[][]} lower @param {number[]} right @returns {number[]} */
export function solveLower(lower, right) {
  /** @type {number[]} */
  const found = [];
  for (let i = 0; i < right.length; i += 1) {
    let rest = right[i];
    for (let k = 0; k < i; k += 1) rest -= lower[i][k] * found[k];
    found.push(rest / lower[i][i]);
  }
  return found;
}

/** @param {number[][]} matrix @returns {number[][]} */
export function inverse(matrix) {
  const size = matrix.length;
  const scale = matrix.map((row, i) => (row[i] > 0 ? 1 / Math.sqrt(row[i]) : 1));
  const lower = cholesky(matrix.map((row, i) => row.map((value, j) => value * scale[i] * scale[j])));
  const columns = matrix.map((_, j) =>
    solveLower(
      lower,
      matrix.map((__, i) => (i === j ? 1 : 0))
    )
  );
  const out = matrix.map(() => new Array(size).fill(0));
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) out[i][j] = dot(columns[i], columns[j]) * scale[i] * scale[j];
  }
  return out;
}

/** @param {number[]} left @param {number[]} right @returns {number} */
export function dot(left, right) {
  let total = 0;
  for (let i = 0; i < left.length; i += 1) total += left[i] * right[i];
  return total;
}

/** @param {number[]} wanted @param {number[][]} rows @returns {number[] | null} */
export function express(wanted, rows) {
  const [count, width] = [rows.length, wanted.length];
  // one equation per column of the rows; the factors are its unknowns
  const table = wanted.map((value, j) => [...rows.map((row) => row[j]), value]);
  for (let i = 0; i < count; i += 1) {
    let best = i;
    for (let j = i + 1; j < width; j += 1) {
      if (Math.abs(table[j][i]) > Math.abs(table[best][i])) best = j;
    }
    if (best >= width || Math.abs(table[best][i]) < NOTHING) return null;
    [table[i], table[best]] = [table[best], table[i]];
    const pivot = table[i][i];
    table[i] = table[i].map((value) => value / pivot);
    for (let j = 0; j < width; j += 1) {
      const factor = table[j][i];
      if (j !== i && factor !== 0) table[j] = table[j].map((a, k) => a - factor * table[i][k]);
    }
  }
  for (let j = count; j < width; j += 1) {
    if (Math.abs(table[j][count]) > NOTHING) return null;
  }
  return rows.map((_, i) => table[i][count]);
}
