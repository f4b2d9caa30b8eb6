/** Readings that fit neither the course nor how pipes vary. Twin of webapp/survey/levels/doubt.py. */

import { GAP, READ } from './units.js';

/** @typedef {import('./course.js').Course} Course */
/** @typedef {import('./units.js').Unit} Unit */
/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {{unit: number, spreads: number, off: number}} Odd */

const LEAST_UNITS = 8; // with fewer nobody can say what is usual
const [NEAR, FINE, SURE] = [10, 0.1, 1.5];
const DOUBT_AT = 4; // robust spreads from the course
const MAD_TO_SD = 1.4826; // of a normal distribution

/** @param {(Seen | null)[]} seen @param {Course} course @param {number} pipeVar @returns {Odd[]} */
export function oddUnits(seen, course, pipeVar) {
  /** @type {[number, number, number][]} */
  const rows = [];
  for (let u = 0; u < seen.length; u += 1) {
    const one = seen[u];
    if (one === null) continue;
    const off = one.mean - one.zero * course.zero_deg - course.mean[u];
    const left = one.var + pipeVar - course.var[u];
    if (left > 0) rows.push([u, off, Math.sqrt(left)]);
  }
  if (rows.length < LEAST_UNITS) return [];
  const sizes = rows.map(([, off, sd]) => Math.abs(off) / sd);
  /** @type {Odd[]} */
  const found = [];
  for (let k = 0; k < rows.length; k += 1) {
    const size = sizes[k];
    if (!(size > SURE)) continue;
    const [u, off, sd] = rows[k];
    const first = Math.max(0, Math.min(k - NEAR, rows.length - 2 * NEAR - 1));
    const usual = Math.max(median(sizes.slice(first, first + 2 * NEAR + 1)) * MAD_TO_SD, FINE);
    if (size > DOUBT_AT * usual) found.push({ unit: u, spreads: off / sd / usual, off });
  }
  return found;
}

/** @param {(Seen | null)[]} seen @param {Odd[]} odd @returns {(Seen | null)[]} */
export function doubted(seen, odd) {
  const found = [...seen];
  for (const one of odd) {
    const was = found[one.unit];
    if (was !== null) found[one.unit] = { ...was, var: was.var + one.off * one.off, off: one.off };
  }
  return found;
}

/**
 * What was read but next to an unknown rise, where pipes are steeper than elsewhere.
 * @param {Unit[]} units @param {(Seen | null)[]} seen @returns {(Seen | null)[]}
 */
export function awayFromGaps(units, seen) {
  /** @type {Set<number>} */
  const found = new Set();
  let [last, gap] = [-1, false];
  units.forEach((unit, u) => {
    if (unit.kind === READ) {
      if (gap) found.add(u);
      [last, gap] = [u, false];
    } else if (unit.kind === GAP) {
      found.add(last);
      gap = true;
    }
  });
  return seen.map((one, u) => (found.has(u) ? null : one));
}

/** @param {number[]} values @returns {number} */
function median(values) {
  values.sort((a, b) => a - b);
  return values[Math.floor((values.length - 1) / 2)];
}
