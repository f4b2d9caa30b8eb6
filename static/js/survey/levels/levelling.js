/** Levelling over ground to the chambers. Twin of webapp/survey/levels/levelling.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';
import { dot, inverse } from '../numbers/linear_algebra.js';

/** @typedef {{observed_m: number, misclosure_m: number, allowed_m: number, within: boolean}} LevelClosure */
/** @typedef {{start: string, end: string, rise_m: number, weight: number}} Rise */
/**
 * @typedef {{points: string[], level_m: number[], cofactor: number[], residual_m: number[], sigma0: number |
 *   null}} LevelNet
 */

const SETUP_ALLOWED_M = 0.005;

/**
 * @param {number} startM
 * @param {number} backsightsM
 * @param {number} foresightsM
 * @param {number} knownM
 * @param {number} setups
 * @returns {LevelClosure}
 */
export function closeLevels(startM, backsightsM, foresightsM, knownM, setups) {
  finite(startM, 'start_m');
  finite(backsightsM, 'backsights_m');
  finite(foresightsM, 'foresights_m');
  finite(knownM, 'known_m');
  finite(setups, 'setups');
  if (!(setups >= 1)) throw new SurveyError('no_setups', 'setups');
  const observed = startM + backsightsM - foresightsM;
  const allowed = SETUP_ALLOWED_M * Math.sqrt(setups);
  const misclosure = observed - knownM;
  return {
    observed_m: observed,
    misclosure_m: misclosure,
    allowed_m: allowed,
    within: Math.abs(misclosure) <= allowed
  };
}

/** @param {number} misclosureM @param {number[]} shares @returns {number[]} */
export function shareMisclosure(misclosureM, shares) {
  finite(misclosureM, 'misclosure_m');
  let total = 0;
  shares.forEach((share, index) => {
    finite(share, 'shares', index);
    if (share < 0) throw new SurveyError('share_negative', 'shares', index);
    total += share;
  });
  if (!(total > 0)) throw new SurveyError('shares_all_zero', 'shares');
  let soFar = 0;
  return shares.map((share) => {
    soFar += share;
    return -misclosureM * (soFar / total);
  });
}

/** @param {{[point: string]: number}} fixedM @param {Rise[]} rises @returns {LevelNet} */
export function adjustNet(fixedM, rises) {
  const fixed = new Map(Object.entries(fixedM));
  const points = pointsOf(fixed, rises);
  const base = [...fixed.values()][0];
  /** @param {string} name */
  const above = (name) => (fixed.has(name) ? Number(fixed.get(name)) - base : 0);
  const rows = rises.map((rise) => points.map((p) => Number(p === rise.end) - Number(p === rise.start)));
  const wanted = rises.map((rise) => rise.rise_m - (above(rise.end) - above(rise.start)));
  const weights = rises.map((rise) => rise.weight);
  const columns = points.map((_, i) => rows.map((row) => row[i]));
  const weighted = columns.map((column) => column.map((a, n) => a * weights[n]));
  const cofactor = inverse(weighted.map((a) => columns.map((b) => dot(a, b))));
  const right = weighted.map((column) => dot(column, wanted));
  const shifts = cofactor.map((row) => dot(row, right));
  const residual = rows.map((row, n) => dot(row, shifts) - wanted[n]);
  const over = rises.length - points.length;
  const squares = dot(
    residual.map((r, n) => r * weights[n]),
    residual
  );
  return {
    points,
    level_m: shifts.map((shift) => base + shift),
    cofactor: cofactor.map((row, i) => row[i]),
    residual_m: residual,
    sigma0: over > 0 ? Math.sqrt(squares / over) : null
  };
}

/** @param {Map<string, number>} fixed @param {Rise[]} rises @returns {string[]} */
function pointsOf(fixed, rises) {
  if (fixed.size === 0) throw new SurveyError('no_fixed_level', 'fixed_m');
  for (const value of fixed.values()) finite(value, 'fixed_m');
  /** @type {string[]} */
  const points = [];
  rises.forEach((rise, index) => {
    finite(rise.rise_m, 'rises', index);
    finite(rise.weight, 'rises', index);
    if (!(rise.weight > 0)) throw new SurveyError('weight_not_positive', 'rises', index);
    for (const name of [rise.start, rise.end]) {
      if (!fixed.has(name) && !points.includes(name)) points.push(name);
    }
  });
  if (points.length === 0) throw new SurveyError('nothing_to_adjust', 'rises');
  return points;
}
