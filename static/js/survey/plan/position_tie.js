/**
 * A position known at the far end: conditioning a trace on it. Twin of webapp/survey/plan/position_tie.py.
 */
import { SurveyError } from '../errors.js';

/** @typedef {[number, number]} Part */
/** @typedef {[number, number, number]} Root */

const FLAT = 1e-9; // a thinner spread than this, against its length, counts as none

/** @param {Part[]} partsM @returns {Root} */
export function root(partsM) {
  let [ee, en] = [0, 0];
  for (const [e, n] of partsM) {
    ee += e * e;
    en += e * n;
  }
  const east = Math.sqrt(ee);
  const slope = ee > 0 ? en / ee : 0;
  let [nn, rest] = [0, 0];
  for (const [e, n] of partsM) {
    const left = n - slope * e;
    nn += n * n;
    rest += left * left;
  }
  const north = Math.sqrt(rest);
  if (!(east * north > FLAT * (ee + nn))) throw new SurveyError('tie_not_solvable', 'tie');
  return [east, slope * east, north];
}

/** @param {Root} lower @param {Part} vectorM @returns {Part} */
export function whitened([east, both, north], vectorM) {
  const first = vectorM[0] / east;
  return [first, (vectorM[1] - both * first) / north];
}

/** @param {Root} lower @param {Part} vectorM @returns {Part} */
export function solved(lower, vectorM) {
  const [east, both, north] = lower;
  const [first, second] = whitened(lower, vectorM);
  const up = second / north;
  return [(first - both * up) / east, up];
}

/** @param {Part[]} ownM @param {Part[]} endM @param {Root} lower @returns {[Part, Part]} */
export function gain(ownM, endM, lower) {
  let [ee, en, ne, nn] = [0, 0, 0, 0];
  for (const [i, [e, n]] of ownM.entries()) {
    const [eEnd, nEnd] = endM[i];
    ee += e * eEnd;
    en += e * nEnd;
    ne += n * eEnd;
    nn += n * nEnd;
  }
  return [solved(lower, [ee, en]), solved(lower, [ne, nn])];
}
