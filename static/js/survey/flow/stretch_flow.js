/** A flow in each stretch, and its gradient beside the rules. Twin of webapp/survey/flow/stretch_flow.py. */
import { SurveyError } from '../errors.js';
import { leastGradient, oneInDiameter } from './gradient_rules.js';
import { selfCleansing } from './sizing.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./run_capacity.js').CapacityRow} CapacityRow */
/**
 * @typedef {{id: string, at: string | null, depth_m: number | null, velocity_m_s: number | null, shear_pa:
 *   number | null, by_velocity: boolean | null, by_shear: boolean | null, findings: string[], left_out:
 *   string | null}} StretchFlow
 */
/**
 * @typedef {'foul_drains' | 'surface_water_drains' | 'one_in_dn'} RuleName
 */
/** @typedef {'cannot_say' | 'steeper' | 'flatter'} Verdict */
/**
 * @typedef {{rule: RuleName, row: number | null, one_in: number | null, verdict: Verdict, findings:
 *   string[]}} StretchRule
 */

/**
 * @param {CapacityRow[]} rows
 * @param {number} dischargeM3S
 * @param {number} leastVelocityMS
 * @param {number} leastShearPa
 * @returns {StretchFlow[]}
 */
export function stretchFlows(rows, dischargeM3S, leastVelocityMS, leastShearPa) {
  return rows.map((row) => flowIn(row, dischargeM3S, leastVelocityMS, leastShearPa));
}

/**
 * @param {CapacityRow} row
 * @param {number} discharge
 * @param {number} velocity
 * @param {number} shear
 * @returns {StretchFlow}
 */
function flowIn(row, discharge, velocity, shear) {
  /** @type {StretchFlow} */
  const found = {
    id: row.id,
    at: null,
    depth_m: null,
    velocity_m_s: null,
    shear_pa: null,
    by_velocity: null,
    by_shear: null,
    findings: [],
    left_out: row.left_out
  };
  if (found.left_out !== null) return found;
  const middle = row.gradient !== null;
  const gradient = middle ? row.gradient : row.gradient_low;
  if (gradient === null) return { ...found, left_out: 'gradient_unknown' };
  if (gradient < 1e-6) return { ...found, left_out: 'gradient_adverse' };
  const resistance = { law: 'colebrook_white', roughness_m: Number(row.roughness_mm) / 1000 };
  try {
    const flow = selfCleansing(
      /** @type {Bore} */ (row.bore),
      discharge,
      gradient,
      resistance,
      velocity,
      shear
    );
    return { ...found, at: middle ? 'middle' : 'least', ...flow };
  } catch (error) {
    if (error instanceof SurveyError) return { ...found, left_out: error.code };
    throw error;
  }
}

/**
 * @param {CapacityRow} row
 * @param {import('../../records/tables.js').MinimumGradients} rules
 * @param {number} peakFlowM3S
 * @param {number} wcsConnected
 * @returns {StretchRule[]}
 */
export function stretchRules(row, rules, peakFlowM3S, wcsConnected) {
  const { bore } = row;
  if (bore === null || bore.kind !== 'circular') return [];
  const size = bore.height_m;
  const foul = leastGradient(rules.foul_drains, size, peakFlowM3S, wcsConnected);
  const found = [beside(row, 'foul_drains', foul.row, foul.one_in, foul.findings)];
  const place = rules.surface_water_drains.findIndex((listed) =>
    listed.diameters_mm.some((mm) => Math.abs(1000 * size - mm) < 0.5)
  );
  if (place >= 0)
    found.push(beside(row, 'surface_water_drains', place, rules.surface_water_drains[place].one_in, []));
  const own = oneInDiameter(size);
  found.push(beside(row, 'one_in_dn', null, own.one_in, own.findings));
  return found;
}

/**
 * @param {CapacityRow} row
 * @param {RuleName} rule
 * @param {number | null} place
 * @param {number | null} oneIn
 * @param {string[]} findings
 * @returns {StretchRule}
 */
function beside(row, rule, place, oneIn, findings) {
  const [low, high] = [row.gradient_low, row.gradient_high];
  /** @type {Verdict} */
  let verdict = 'cannot_say';
  if (oneIn !== null && low !== null && high !== null) {
    const sine = 1 / Math.sqrt(1 + oneIn * oneIn); // of the inclination whose tangent is 1 in N
    if (low >= sine) verdict = 'steeper';
    else if (high < sine) verdict = 'flatter';
  }
  return { rule, row: place, one_in: oneIn, verdict, findings };
}
