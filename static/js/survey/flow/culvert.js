/** Short culverts: headwater for a flow and flow for a headwater. Twin of webapp/survey/flow/culvert.py. */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { gradeLine } from './grade_line.js';
import { criticalFlow } from './open_flow.js';
import { GRAVITY_M_S2, VISCOSITY_M2_S, flowFindings } from './resistance.js';
import { findRoot } from '../numbers/root_finding.js';
import { flowSection, fullSection } from '../section/shape.js';
import { waterway } from './waterway.js';

/** @typedef {import('./resistance.js').Resistance} Resistance */
/** @typedef {import('./waterway.js').Waterway} Waterway */
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
/**
 * @typedef {{headwater_m: number, entrance_m: number, friction_m: number, exit_m: number, outlet_level_m:
 *   number, steep: boolean, findings: string[]}} OutletHeadwater
 */
/**
 * @typedef {{inlet_m3_s: number | null, outlet_m3_s: number | null, findings: string[], discharge_m3_s:
 *   number | null, control: string | null, state: InletState | null, known: string}} CulvertCapacity
 */

const FROM_SI = 1.811; // the published constants are for Q / (A sqrt(D)) in feet and seconds
const FREE_UP_TO = 3.5; // of that parameter: unsubmerged below, submerged from 4
const DROWNED_FROM = 4;
const MIN_FLOW = 1e-7; // m3/s
const MANY_TIMES = 10;
const HALVINGS = 45;
const SLOW = 'flow_not_turbulent';

/** @param {Culvert} culvert @param {number} dischargeM3S @returns {InletHeadwater} */
export function inletHeadwater(culvert, dischargeM3S) {
  const row = checked(culvert);
  const area = fullSection(culvert.bore).area_m2;
  const clear = culvert.bore.height_m - (culvert.bore.deposit_m ?? 0);
  const unit = (area * Math.sqrt(clear)) / FROM_SI;
  const flow = numberBetween(dischargeM3S, MIN_FLOW, 1e5, 'discharge_m3_s', 'flow_out_of_range');
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

/**
 * @param {Culvert} culvert
 * @param {number} dischargeM3S
 * @param {number} tailwaterM
 * @param {Waterway} [barrel] where many flows are asked for
 * @returns {OutletHeadwater}
 */
export function outletHeadwater(culvert, dischargeM3S, tailwaterM, barrel = barrelOf(culvert)) {
  numberBetween(dischargeM3S, MIN_FLOW, 1e5, 'discharge_m3_s', 'flow_out_of_range');
  const tail = numberBetween(tailwaterM, 0, 100, 'tailwater_m', 'tailwater_out_of_range');
  const { bore, resistance } = culvert;
  const exit = culvert.exit_loss === undefined ? 1 : culvert.exit_loss;
  const drop = culvert.length_m * culvert.gradient;
  const twice = 2 * gravityOf(culvert);
  let recovered = 0;
  if (tail > (bore.deposit_m ?? 0)) {
    const wet = flowSection(bore, Math.min(tail, bore.height_m)).area_m2;
    const speed = wet > 0 ? dischargeM3S / wet : 0;
    recovered = (1 - exit) * Math.min(tail, (speed * speed) / twice);
  }
  const line = gradeLine(
    [{ length_m: culvert.length_m, fall_m: drop, way: barrel }],
    dischargeM3S,
    Math.max(0, tail - recovered)
  );
  const [lower, upper] = line.depths_m;
  const section = flowSection(bore, Math.min(lower, bore.height_m));
  const velocity = dischargeM3S / section.area_m2;
  const leaving = (velocity * velocity) / twice;
  const entrance = culvert.inlet.entrance_loss * (line.head_m - upper);
  return {
    headwater_m: line.head_m + entrance,
    entrance_m: entrance,
    friction_m: line.head_m + drop - lower - leaving,
    exit_m: exit * leaving,
    outlet_level_m: lower,
    steep: line.control,
    findings: flowFindings(resistance, section.hydraulic_radius_m, velocity).filter((one) => one === SLOW)
  };
}

/**
 * @param {Culvert} culvert
 * @param {number} headwaterM
 * @param {number} tailwaterM
 * @returns {CulvertCapacity}
 */
export function culvertCapacity(culvert, headwaterM, tailwaterM) {
  const head = numberBetween(headwaterM, 1e-6, 100, 'headwater_m', 'headwater_out_of_range');
  const barrel = barrelOf(culvert);
  outletHeadwater(culvert, MIN_FLOW, tailwaterM, barrel); // refuses what cannot be before the search
  const findings = (culvert.bore.deposit_m ?? 0) > 0 ? ['inlet_partly_blocked'] : [];
  const most = mostOf(culvert, head);
  const inlet = flowFor((q) => inletHeadwater(culvert, q).headwater_m, head, most);
  let outlet = flowFor((q) => outletHeadwater(culvert, q, tailwaterM, barrel).headwater_m, head, most);
  const result = { inlet_m3_s: inlet, outlet_m3_s: outlet, findings };
  if (inlet === null || outlet === null) {
    const lost = tailwaterM - culvert.length_m * culvert.gradient >= head;
    findings.push(lost ? 'headwater_below_tailwater' : 'headwater_too_low');
    return { ...result, discharge_m3_s: null, control: null, state: null, known: 'unknown' };
  }
  if (outlet < inlet) outlet = result.outlet_m3_s = whileSteep(culvert, barrel, outlet, inlet, tailwaterM);
  const least = Math.min(inlet, outlet);
  findings.push(...outletHeadwater(culvert, least, tailwaterM, barrel).findings);
  const { state } = inletHeadwater(culvert, least);
  return {
    ...result,
    discharge_m3_s: least,
    control: inlet <= outlet ? 'inlet' : 'outlet',
    state,
    known: 'computed'
  };
}

/** @param {Culvert} culvert @returns {Waterway} */
function barrelOf(culvert) {
  checked(culvert);
  return waterway(culvert.bore, culvert.resistance, 1, false);
}

/**
 * The flow up to which the barrel asks for nothing, from one by the outlet to one by the inlet.
 * @param {Culvert} culvert
 * @param {Waterway} barrel
 * @param {number} from
 * @param {number} to
 * @param {number} tailwaterM
 * @returns {number}
 */
function whileSteep(culvert, barrel, from, to, tailwaterM) {
  const steep = (/** @type {number} */ flow) => outletHeadwater(culvert, flow, tailwaterM, barrel).steep;
  if (!steep(from)) return from;
  if (steep(to)) return to;
  let [low, high] = [from, to];
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    if (steep(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** A flow that needs more than the headwater: its velocity head alone would be many times as high.
 * @param {Culvert} culvert @param {number} head @returns {number} */
function mostOf(culvert, head) {
  const height = head + culvert.bore.height_m + culvert.length_m * Math.abs(culvert.gradient);
  return MANY_TIMES * Math.sqrt(2 * gravityOf(culvert) * height) * fullSection(culvert.bore).area_m2;
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

/** @param {Culvert} culvert @returns {Inlet} */
function checked(culvert) {
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
  const viscosity = viscosityOf(culvert.resistance);
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
  const head = criticalFlow(culvert.bore, flow, gravityOf(culvert)).head_m;
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

/**
 * @param {(flow: number) => number} headwater
 * @param {number} wanted
 * @param {number} most
 * @returns {number | null}
 */
function flowFor(headwater, wanted, most) {
  if (headwater(MIN_FLOW) >= wanted) return null;
  return findRoot((flow) => headwater(flow) - wanted, MIN_FLOW, most);
}
