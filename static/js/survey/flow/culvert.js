/** Short culverts: headwater for a flow and flow for a headwater. Twin of webapp/survey/flow/culvert.py. */
import { numberBetween } from '../numbers/checks.js';
import { gradeLine } from './grade_line.js';
import { GRAVITY_M_S2, flowFindings } from './resistance.js';
import { findRoot } from '../numbers/root_finding.js';
import { flowSection, fullSection } from '../section/shape.js';
import { waterway } from './waterway.js';
import { MIN_FLOW_M3_S, checkedCulvert, inletHeadwater } from './culvert_inlet.js';

/** @typedef {import('./waterway.js').Waterway} Waterway */
/** @typedef {import('./culvert_inlet.js').Culvert} Culvert */
/** @typedef {import('./culvert_inlet.js').InletState} InletState */

/**
 * @typedef {{headwater_m: number, entrance_m: number, friction_m: number, exit_m: number, outlet_level_m:
 *   number, steep: boolean, findings: string[]}} OutletHeadwater
 */
/**
 * @typedef {{inlet_m3_s: number | null, outlet_m3_s: number | null, findings: string[], discharge_m3_s:
 *   number | null, control: string | null, state: InletState | null, known: string}} CulvertCapacity
 */

const MANY_TIMES = 10;
const HALVINGS = 45;
const SLOW = 'flow_not_turbulent';

/**
 * @param {Culvert} culvert
 * @param {number} dischargeM3S
 * @param {number} tailwaterM
 * @param {Waterway} [barrel] where many flows are asked for
 * @returns {OutletHeadwater}
 */
export function outletHeadwater(culvert, dischargeM3S, tailwaterM, barrel = barrelOf(culvert)) {
  numberBetween(dischargeM3S, MIN_FLOW_M3_S, 1e5, 'discharge_m3_s', 'flow_out_of_range');
  const tail = numberBetween(tailwaterM, 0, 100, 'tailwater_m', 'tailwater_out_of_range');
  const { bore, resistance } = culvert;
  const exit = culvert.exit_loss === undefined ? 1 : culvert.exit_loss;
  const drop = culvert.length_m * culvert.gradient;
  const { gravity_m_s2: gravity = GRAVITY_M_S2 } = resistance;
  const twice = 2 * gravity;
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
  outletHeadwater(culvert, MIN_FLOW_M3_S, tailwaterM, barrel); // refuses what cannot be before the search
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
  checkedCulvert(culvert);
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
  const { gravity_m_s2: gravity = GRAVITY_M_S2 } = culvert.resistance;
  const height = head + culvert.bore.height_m + culvert.length_m * Math.abs(culvert.gradient);
  return MANY_TIMES * Math.sqrt(2 * gravity * height) * fullSection(culvert.bore).area_m2;
}

/**
 * @param {(flow: number) => number} headwater
 * @param {number} wanted
 * @param {number} most
 * @returns {number | null}
 */
function flowFor(headwater, wanted, most) {
  if (headwater(MIN_FLOW_M3_S) >= wanted) return null;
  return findRoot((flow) => headwater(flow) - wanted, MIN_FLOW_M3_S, most);
}
