/**
 * The inlet of a short culvert: the headwater that it asks for, as a weir and as an orifice. Twin of
 * webapp/survey/flow/culvert_inlet.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { criticalFlow } from './open_flow.js';
import { GRAVITY_M_S2, VISCOSITY_M2_S } from './resistance.js';
import { fullSection } from '../section/shape.js';

/** @typedef {import('./resistance.js').Resistance} Resistance */

/**
 * @typedef {{form: 1 | 2, k: number, m: number, c: number, y: number, slope_factor: number, entrance_loss:
 *   number}} Inlet
 */
/**
 * @typedef {{bore: import('../section/bore.js').Bore, length_m: number, gradient: number, resistance:
 *   Resistance, inlet: Inlet, exit_loss?: number}} Culvert
 */
/** @typedef {'unsubmerged' | 'transition' | 'submerged'} InletState */
/** @typedef {{headwater_m: number, state: InletState}} InletHeadwater */

const FROM_SI = 1.811; // the published constants are for Q / (A sqrt(D)) in feet and seconds
const FREE_UP_TO = 3.5; // of that parameter: unsubmerged below, submerged from 4
const DROWNED_FROM = 4;
export const MIN_FLOW_M3_S = 1e-7; // m3/s

/** @param {Culvert} culvert @param {number} dischargeM3S @returns {InletHeadwater} */
export function inletHeadwater(culvert, dischargeM3S) {
  const row = checkedCulvert(culvert);
  const area = fullSection(culvert.bore).area_m2;
  const clear = culvert.bore.height_m - (culvert.bore.deposit_m ?? 0);
  const unit = (area * Math.sqrt(clear)) / FROM_SI;
  const flow = numberBetween(dischargeM3S, MIN_FLOW_M3_S, 1e5, 'discharge_m3_s', 'flow_out_of_range');
  const reached = flow / unit;
  if (reached <= FREE_UP_TO)
    return { headwater_m: free(culvert, row, flow, reached, clear), state: 'unsubmerged' };
  if (reached >= DROWNED_FROM)
    return { headwater_m: drowned(culvert, row, reached, clear), state: 'submerged' };
  const low = free(culvert, row, FREE_UP_TO * unit, FREE_UP_TO, clear);
  const high = drowned(culvert, row, DROWNED_FROM, clear);
  const share = (reached - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO);
  return { headwater_m: low + share * (high - low), state: 'transition' };
}

/** @param {Culvert} culvert @returns {Inlet} */
export function checkedCulvert(culvert) {
  const row = culvert.inlet;
  for (const key of /** @type {const} */ (['k', 'm', 'c', 'y', 'slope_factor', 'entrance_loss'])) {
    numberBetween(row[key], -10, 10, 'inlet', 'inlet_incomplete');
  }
  if (row.form !== 1 && row.form !== 2) throw new SurveyError('inlet_incomplete', 'inlet');
  numberBetween(culvert.gradient, -0.2, 1, 'gradient', 'gradient_out_of_range');
  numberBetween(culvert.length_m, 0.01, 1000, 'length_m', 'length_out_of_range');
  numberBetween(
    culvert.exit_loss === undefined ? 1 : culvert.exit_loss,
    0.1,
    2,
    'exit_loss',
    'loss_out_of_range'
  );
  const { viscosity_m2_s: viscosity = VISCOSITY_M2_S } = culvert.resistance;
  numberBetween(viscosity, 1e-9, 1e-2, 'viscosity_m2_s', 'viscosity_out_of_range');
  return row;
}

/**
 * Headwater above the invert with the inlet acting as a weir.
 * @param {Culvert} culvert
 * @param {Inlet} row
 * @param {number} flow
 * @param {number} reached
 * @param {number} clear
 * @returns {number}
 */
function free(culvert, row, flow, reached, clear) {
  const above = row.k * Math.pow(reached, row.m) * clear;
  if (row.form === 2) return (culvert.bore.deposit_m ?? 0) + above;
  const { gravity_m_s2: gravity = GRAVITY_M_S2 } = culvert.resistance;
  const head = criticalFlow(culvert.bore, flow, gravity).head_m;
  return head + above + row.slope_factor * culvert.gradient * clear;
}

/**
 * Headwater above the invert with the inlet acting as an orifice.
 * @param {Culvert} culvert @param {Inlet} row @param {number} reached @param {number} clear @returns {number}
 */
function drowned(culvert, row, reached, clear) {
  const share = row.c * reached * reached + row.y + row.slope_factor * culvert.gradient;
  return (culvert.bore.deposit_m ?? 0) + share * clear;
}
