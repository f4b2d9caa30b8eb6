/**
 * A round pipe out of round: the ellipse that it makes. Twin of
 * webapp/survey/section/deform.py.
 */
import { MAX_M, MIN_M } from './bore.js';
import { numberBetween } from '../numbers/checks.js';

/** @param {number} diameterM @param {number} deformationPct @returns {import('./bore.js').Bore} */
export function deformedCircle(diameterM, deformationPct) {
  const diameter = size(diameterM, 'diameter_m');
  const q = numberBetween(deformationPct, -50, 50, 'deformation_pct', 'share_out_of_range') / 100;
  if (q === 0) return { kind: 'circular', height_m: diameter, width_m: diameter, deposit_m: 0 };
  return { kind: 'elliptical', height_m: diameter * (1 - q), width_m: diameter * (1 + q), deposit_m: 0 };
}

/** @param {number} value @param {string} field @returns {number} */
function size(value, field) {
  return numberBetween(value, MIN_M, MAX_M, field, 'size_out_of_range');
}
