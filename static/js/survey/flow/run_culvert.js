/** A stretch taken as a short culvert. Twin of webapp/survey/flow/run_culvert.py. */
import { culvertCapacity } from './culvert.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('./culvert.js').CulvertCapacity} CulvertCapacity */
/** @typedef {CulvertCapacity & {low_m3_s: number | null, high_m3_s: number | null}} RunCulvert */

/**
 * @template {{shapes: string[]}} R
 * @param {R[]} rows
 * @param {string} kind
 * @returns {R[]}
 */
export function inletsFor(rows, kind) {
  return rows.filter((row) => row.shapes.includes(kind));
}

/**
 * @param {import('./run_capacity.js').CapacityRow} row
 * @param {number} lengthM
 * @param {import('./culvert_inlet.js').Inlet} inlet
 * @param {number} headwaterM
 * @param {number} tailwaterM
 * @returns {RunCulvert}
 */
export function runCulvert(row, lengthM, inlet, headwaterM, tailwaterM) {
  const { bore } = row;
  if (bore === null) throw new SurveyError('bore_unknown', 'row');
  if (row.gradient === null) throw new SurveyError('gradient_unknown', 'row');
  const resistance = { law: 'colebrook_white', roughness_m: Number(row.roughness_mm) / 1000 };
  /** @param {number} gradient */
  const at = (gradient) =>
    culvertCapacity({ bore, length_m: lengthM, gradient, resistance, inlet }, headwaterM, tailwaterM);
  let low = row.gradient_low === null ? null : at(row.gradient_low).discharge_m3_s;
  let high = row.gradient_high === null ? null : at(row.gradient_high).discharge_m3_s;
  const found = { ...at(row.gradient) };
  if (low !== null && high !== null && high < low) [low, high] = [high, low];
  if (found.known === 'computed') found.known = row.gradient_known;
  return { ...found, low_m3_s: low, high_m3_s: high };
}
