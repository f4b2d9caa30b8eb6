/** Rules that are looked up, not computed. Twin of webapp/survey/flow/gradient_rules.py. */
import { numberBetween } from '../numbers/checks.js';

/** @typedef {import('../../records/tables.js').FoulDrain} FoulDrain */
/** @typedef {{one_in: number | null, row: number | null, findings: string[]}} LeastGradient */

/**
 * @param {FoulDrain[]} rows
 * @param {number} diameterM
 * @param {number} peakFlowM3S
 * @param {number} wcsConnected
 * @returns {LeastGradient}
 */
export function leastGradient(rows, diameterM, peakFlowM3S, wcsConnected) {
  const sizeMm = 1000 * numberBetween(diameterM, 0.001, 100, 'diameter_m', 'size_out_of_range');
  const flow = numberBetween(peakFlowM3S, 0, 1e5, 'peak_flow_m3_s', 'flow_out_of_range');
  const wcs = numberBetween(wcsConnected, 0, 100_000, 'wcs_connected', 'count_out_of_range');
  let findings = ['diameter_not_in_table'];
  for (const [index, row] of rows.entries()) {
    if (!row.diameters_mm.some((/** @type {number} */ listed) => Math.abs(sizeMm - listed) < 0.5)) continue;
    const limit = row.flow_below_m3_s;
    if (limit !== null ? flow >= limit : flow < row.flow_from_m3_s) continue;
    if (wcs < row.wcs_at_least) {
      findings = ['too_few_wcs'];
      continue;
    }
    return { one_in: row.one_in, row: index, findings: [] };
  }
  return { one_in: null, row: null, findings };
}

/** @param {number} nominalDiameterM @returns {{one_in: number, findings: string[]}} */
export function oneInDiameter(nominalDiameterM) {
  const size = numberBetween(nominalDiameterM, 0.001, 100, 'nominal_diameter_m', 'size_out_of_range');
  return { one_in: 1000 * size, findings: size >= 0.3 ? ['rule_is_for_below_dn_300'] : [] };
}
