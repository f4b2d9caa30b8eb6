/** Short culverts: headwater for a flow and flow for a headwater. Twin of webapp/survey/culvert.py. */
import { numberBetween } from './checks.js';
import { TURBULENT_FROM } from './colebrook.js';
import { SurveyError } from './errors.js';
import { criticalFlow } from './open_flow.js';
import { GRAVITY_M_S2, VISCOSITY_M2_S, frictionSlope } from './resistance.js';
import { findRoot } from './roots.js';
import { fullSection } from './shape.js';

/** @typedef {import('./resistance.js').Resistance} Resistance */
/** @typedef {Object<string, any>} Row */
/**
 * @typedef {{bore: import('./bore.js').Bore, length_m: number, gradient: number, resistance: Resistance, inlet: Row,
 *   exit_loss?: number}} Culvert
 */
/** @typedef {{headwater_m: number, state: string}} InletSum */
/**
 * @typedef {{headwater_m: number, entrance_m: number, friction_m: number, exit_m: number, outlet_level_m: number,
 *   findings: string[]}} OutletSum
 */

const FROM_SI = 1.811; // the published constants are for Q / (A sqrt(D)) in feet and seconds
const FREE_UP_TO = 3.5; // of that parameter: unsubmerged below, submerged from 4
const DROWNED_FROM = 4;
const FULL_FROM = 0.75; // of the height: below this headwater the outlet sum is not to be trusted
const LEAST_FLOW = 1e-7; // m3/s
const FASTEST_M_S = 500; // beyond any headwater allowed here

/** @param {Culvert} culvert @param {number} dischargeM3S @returns {InletSum} */
export function inletHeadwater(culvert, dischargeM3S) {
  const row = checked(culvert);
  const area = fullSection(culvert.bore).area_m2;
  const clear = culvert.bore.height_m - (culvert.bore.deposit_m ?? 0);
  const unit = area * Math.sqrt(clear) / FROM_SI;
  const flow = numberBetween(dischargeM3S, LEAST_FLOW, 1e5, 'discharge_m3_s', 'flow_out_of_range');
  const reached = flow / unit;
  if (reached <= FREE_UP_TO) return { headwater_m: free(culvert, row, flow, reached, clear), state: 'unsubmerged' };
  if (reached >= DROWNED_FROM) return { headwater_m: drowned(culvert, row, reached, clear), state: 'submerged' };
  const low = free(culvert, row, FREE_UP_TO * unit, FREE_UP_TO, clear);
  const high = drowned(culvert, row, DROWNED_FROM, clear);
  const share = (reached - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO);
  return { headwater_m: low + share * (high - low), state: 'transition' };
}

/** @param {Culvert} culvert @param {number} dischargeM3S @param {number} tailwaterM @returns {OutletSum} */
export function outletHeadwater(culvert, dischargeM3S, tailwaterM) {
  const row = checked(culvert);
  const tail = numberBetween(tailwaterM, 0, 100, 'tailwater_m', 'tailwater_out_of_range');
  const gravity = gravityOf(culvert);
  const critical = criticalFlow(culvert.bore, dischargeM3S, gravity);
  const section = fullSection(culvert.bore);
  const velocity = dischargeM3S / section.area_m2;
  const head = velocity * velocity / (2 * gravity);
  const [slope, findings] = friction(culvert.resistance, section.hydraulic_radius_m, velocity);
  const along = culvert.length_m * slope;
  const level = Math.max(tail, (critical.depth_m + culvert.bore.height_m) / 2);
  const entrance = row.entrance_loss * head;
  const leaving = (culvert.exit_loss === undefined ? 1 : culvert.exit_loss) * head;
  const total = level + entrance + along + leaving - culvert.length_m * culvert.gradient;
  if (total < FULL_FROM * culvert.bore.height_m) findings.push('barrel_not_full');
  return {
    headwater_m: total,
    entrance_m: entrance,
    friction_m: along,
    exit_m: leaving,
    outlet_level_m: level,
    findings,
  };
}

/**
 * @param {Culvert} culvert @param {number} dischargeM3S @param {number} tailwaterM
 * @returns {{headwater_m: number, control: string, inlet: InletSum, outlet: OutletSum}}
 */
export function culvertHeadwater(culvert, dischargeM3S, tailwaterM) {
  const inlet = inletHeadwater(culvert, dischargeM3S);
  const outlet = outletHeadwater(culvert, dischargeM3S, tailwaterM);
  const byInlet = inlet.headwater_m >= outlet.headwater_m;
  const headwater = byInlet ? inlet.headwater_m : outlet.headwater_m;
  return { headwater_m: headwater, control: byInlet ? 'inlet' : 'outlet', inlet, outlet };
}

/** @param {Culvert} culvert @param {number} headwaterM @param {number} tailwaterM @returns {Object<string, any>} */
export function culvertCapacity(culvert, headwaterM, tailwaterM) {
  const head = numberBetween(headwaterM, 1e-6, 100, 'headwater_m', 'headwater_out_of_range');
  outletHeadwater(culvert, LEAST_FLOW, tailwaterM); // refuses what cannot be before the search
  const findings = (culvert.bore.deposit_m ?? 0) > 0 ? ['inlet_partly_blocked'] : [];
  const most = FASTEST_M_S * fullSection(culvert.bore).area_m2;
  const inlet = flowFor((q) => inletHeadwater(culvert, q).headwater_m, head, most);
  const outlet = flowFor((q) => outletHeadwater(culvert, q, tailwaterM).headwater_m, head, most);
  const result = { inlet_m3_s: inlet, outlet_m3_s: outlet, findings };
  if (inlet === null || outlet === null) {
    const lost = tailwaterM - culvert.length_m * culvert.gradient >= head;
    findings.push(lost ? 'headwater_below_tailwater' : 'headwater_too_low');
    return { ...result, discharge_m3_s: null, control: null, state: null, known: 'unknown' };
  }
  const least = Math.min(inlet, outlet);
  findings.push(...outletHeadwater(culvert, least, tailwaterM).findings);
  const { state } = inletHeadwater(culvert, least);
  return { ...result, discharge_m3_s: least, control: inlet <= outlet ? 'inlet' : 'outlet', state, known: 'computed' };
}

/** @param {Culvert} culvert @returns {number} */
function gravityOf(culvert) {
  const { gravity_m_s2: gravity } = culvert.resistance;
  return gravity === undefined ? GRAVITY_M_S2 : gravity;
}

/** @param {Resistance} resistance @returns {number} */
function viscosityOf(resistance) {
  return resistance.viscosity_m2_s === undefined ? VISCOSITY_M2_S : resistance.viscosity_m2_s;
}

/** @param {Culvert} culvert @returns {Row} */
function checked(culvert) {
  const row = culvert.inlet;
  for (const key of ['k', 'm', 'c', 'y', 'slope_factor', 'entrance_loss']) {
    numberBetween(row[key], -10, 10, 'inlet', 'inlet_incomplete');
  }
  if (row.form !== 1 && row.form !== 2) throw new SurveyError('inlet_incomplete', 'inlet');
  numberBetween(culvert.gradient, -0.2, 1, 'gradient', 'gradient_out_of_range');
  numberBetween(culvert.length_m, 0.01, 1000, 'length_m', 'length_out_of_range');
  numberBetween(culvert.exit_loss === undefined ? 1 : culvert.exit_loss, 0.1, 2, 'exit_loss', 'loss_out_of_range');
  const viscosity = viscosityOf(culvert.resistance);
  numberBetween(viscosity, 1e-9, 1e-2, 'viscosity_m2_s', 'viscosity_out_of_range');
  return row;
}

/**
 * Headwater above the invert with the inlet acting as a weir.
 * @param {Culvert} culvert @param {Row} row @param {number} flow @param {number} reached @param {number} clear
 * @returns {number}
 */
function free(culvert, row, flow, reached, clear) {
  const above = row.k * Math.pow(reached, row.m) * clear;
  if (row.form === 2) return (culvert.bore.deposit_m ?? 0) + above;
  const head = criticalFlow(culvert.bore, flow, gravityOf(culvert)).head_m;
  return head + above + row.slope_factor * culvert.gradient * clear;
}

/**
 * Headwater above the invert with the inlet acting as an orifice.
 * @param {Culvert} culvert @param {Row} row @param {number} reached @param {number} clear @returns {number}
 */
function drowned(culvert, row, reached, clear) {
  const share = row.c * reached * reached + row.y + row.slope_factor * culvert.gradient;
  return (culvert.bore.deposit_m ?? 0) + share * clear;
}

/** @param {Resistance} resistance @param {number} radius @param {number} velocity @returns {[number, string[]]} */
function friction(resistance, radius, velocity) {
  if (resistance.law === 'colebrook_white') {
    const slowest = TURBULENT_FROM * viscosityOf(resistance) / (4 * radius) * (1 + 1e-9);
    if (velocity < slowest) {
      const share = velocity / slowest;
      return [frictionSlope(resistance, radius, slowest) * share * share, ['flow_not_turbulent']];
    }
  }
  return [frictionSlope(resistance, radius, velocity), []];
}

/** @param {(flow: number) => number} headwater @param {number} wanted @param {number} most @returns {number | null} */
function flowFor(headwater, wanted, most) {
  if (headwater(LEAST_FLOW) >= wanted) return null;
  return findRoot((flow) => headwater(flow) - wanted, LEAST_FLOW, most);
}
