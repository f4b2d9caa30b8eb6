/**
 * A round pipe out of round: deformation, ovality in both definitions, area lost. Twin of
 * webapp/survey/section/deform.py.
 */
import { GREATEST_M, LEAST_M } from './bore.js';
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';

/**
 * @param {number} originalDiameterM @param {number} verticalDiameterM @param {number} horizontalDiameterM
 * @returns {{vertical_deformation_pct: number, horizontal_deformation_pct: number}}
 */
export function deformation(originalDiameterM, verticalDiameterM, horizontalDiameterM) {
  const original = size(originalDiameterM, 'original_diameter_m');
  const vertical = size(verticalDiameterM, 'vertical_diameter_m');
  const horizontal = size(horizontalDiameterM, 'horizontal_diameter_m');
  return {
    vertical_deformation_pct: (100 * (original - vertical)) / original,
    horizontal_deformation_pct: (100 * (horizontal - original)) / original
  };
}

/**
 * @param {number} maximumDiameterM @param {number} minimumDiameterM @param {number} meanDiameterM
 * @returns {{from_maximum_pct: number, from_minimum_pct: number, of_range_pct: number}}
 */
export function ovality(maximumDiameterM, minimumDiameterM, meanDiameterM) {
  const greatest = size(maximumDiameterM, 'maximum_diameter_m');
  const least = size(minimumDiameterM, 'minimum_diameter_m');
  const mean = size(meanDiameterM, 'mean_diameter_m');
  if (!(least <= mean && mean <= greatest))
    throw new SurveyError('diameters_out_of_order', 'mean_diameter_m');
  return {
    from_maximum_pct: (100 * (greatest - mean)) / mean,
    from_minimum_pct: (100 * (mean - least)) / mean,
    of_range_pct: (100 * (greatest - least)) / mean
  };
}

/** @param {number} ovalityPct @returns {number} */
export function ovalityReductionFactor(ovalityPct) {
  const q = numberBetween(ovalityPct, 0, 99, 'ovality_pct', 'share_out_of_range') / 100;
  const one = (1 - q) / ((1 + q) * (1 + q));
  return one * one * one;
}

/** @param {number} ovalityPct @returns {number} */
export function areaLostToOvality(ovalityPct) {
  const q = numberBetween(ovalityPct, 0, 99, 'ovality_pct', 'share_out_of_range') / 100;
  return 100 * q * q;
}

/** @param {number} diameterM @param {number} deformationPct @returns {import('./bore.js').Bore} */
export function deformedCircle(diameterM, deformationPct) {
  const diameter = size(diameterM, 'diameter_m');
  const q = numberBetween(deformationPct, -50, 50, 'deformation_pct', 'share_out_of_range') / 100;
  if (q === 0) return { kind: 'circular', height_m: diameter, width_m: diameter, deposit_m: 0 };
  return { kind: 'elliptical', height_m: diameter * (1 - q), width_m: diameter * (1 + q), deposit_m: 0 };
}

/** @param {number} value @param {string} field @returns {number} */
function size(value, field) {
  return numberBetween(value, LEAST_M, GREATEST_M, field, 'size_out_of_range');
}
