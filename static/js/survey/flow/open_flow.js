/** Uniform flow in a bore. Twin of webapp/survey/flow/open_flow.py. */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { flowFindings, meanVelocity, velocityGrowth } from './resistance.js';
import { findRoot } from '../numbers/root_finding.js';
import { areasAndWidths, flowSection, perimeterGrowth } from '../section/shape.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./resistance.js').Resistance} Resistance */
/**
 * @typedef {import('../section/shape.js').Section & {depth_m: number, velocity_m_s: number, discharge_m3_s:
 *   number, findings: string[]}} Flow
 */
/**
 * @typedef {{full_m3_s: number, greatest_m3_s: number, findings: string[], flow: Flow | null}} NormalDepth
 */

const STEPS = 64;
export const MIN_FLOW_M3_S = 1e-9; // m3/s
export const MAX_FLOW_M3_S = 1e5;

/**
 * @param {Bore} bore @param {number} depthM @param {number} gradient @param {Resistance} resistance
 * @param {boolean} [underRoof] @returns {Flow}
 */
export function flowAtDepth(bore, depthM, gradient, resistance, underRoof = true) {
  falls(gradient);
  const section = flowSection(bore, depthM, underRoof);
  if (section.area_m2 <= 0) throw new SurveyError('depth_out_of_range', 'depth_m');
  const velocity = meanVelocity(resistance, section.hydraulic_radius_m, gradient);
  return {
    depth_m: depthM,
    ...section,
    velocity_m_s: velocity,
    discharge_m3_s: velocity * section.area_m2,
    findings: flowFindings(resistance, section.hydraulic_radius_m, velocity)
  };
}

/** @param {Bore} bore @param {number} gradient @param {Resistance} resistance @returns {Flow} */
export function fullFlow(bore, gradient, resistance) {
  return flowAtDepth(bore, bore.height_m, gradient, resistance);
}

/** @param {Bore} bore @param {number} gradient @param {Resistance} resistance @returns {Flow} */
export function greatestFlow(bore, gradient, resistance) {
  falls(gradient);
  flowSection(bore, bore.height_m); // refuses a bore that cannot be before the search
  const bottom = bore.deposit_m ?? 0;
  const height = bore.height_m;
  const level = (/** @type {number} */ i) =>
    i === STEPS ? height : bottom + ((height - bottom) * i) / STEPS;
  const falling = (/** @type {number} */ depth) => -dischargeGrowth(bore, depth, gradient, resistance);
  const flat = flowSection(bore, height, false).top_width_m > 1e-6 * height;
  if (flat && falling(height) < 0) return flowAtDepth(bore, height, gradient, resistance, false);
  for (let i = STEPS - 1; i > 0; i -= 1) {
    if (falling(level(i)) < 0) {
      const depth = findRoot(falling, level(i), level(i + 1));
      return flowAtDepth(bore, depth, gradient, resistance, false);
    }
  }
  return fullFlow(bore, gradient, resistance);
}

/**
 * @param {Bore} bore @param {number} dischargeM3S @param {number} gradient @param {Resistance} resistance
 * @returns {NormalDepth}
 */
export function depthForFlow(bore, dischargeM3S, gradient, resistance) {
  const wanted = numberBetween(
    dischargeM3S,
    MIN_FLOW_M3_S,
    MAX_FLOW_M3_S,
    'discharge_m3_s',
    'flow_out_of_range'
  );
  const full = fullFlow(bore, gradient, resistance);
  const greatest = greatestFlow(bore, gradient, resistance);
  /** @type {NormalDepth} */
  const result = {
    full_m3_s: full.discharge_m3_s,
    greatest_m3_s: greatest.discharge_m3_s,
    findings: [],
    flow: null
  };
  if (wanted > greatest.discharge_m3_s) {
    result.findings = ['flow_exceeds_capacity'];
    return result;
  }
  const above = (/** @type {number} */ depth) => discharge(bore, depth, gradient, resistance) - wanted;
  const depth = findRoot(above, bore.deposit_m ?? 0, greatest.depth_m);
  result.flow = flowAtDepth(bore, depth, gradient, resistance, false);
  result.findings = [...result.flow.findings];
  if (wanted > full.discharge_m3_s) result.findings.push('may_run_full');
  return result;
}

/**
 * @param {Bore} bore @param {number} dischargeM3S @param {number} gravityMS2
 * @returns {{depth_m: number, velocity_m_s: number, head_m: number, findings: string[]}}
 */
export function criticalFlow(bore, dischargeM3S, gravityMS2) {
  const flow = numberBetween(
    dischargeM3S,
    MIN_FLOW_M3_S,
    MAX_FLOW_M3_S,
    'discharge_m3_s',
    'flow_out_of_range'
  );
  const gravity = numberBetween(gravityMS2, 1, 30, 'gravity_m_s2', 'gravity_out_of_range');
  const areaAndWidth = areasAndWidths(bore);
  const above = (/** @type {number} */ depth) => {
    const [area, top] = areaAndWidth(depth);
    return gravity * area * area * area - flow * flow * top;
  };
  const beyond = above(bore.height_m) < 0;
  const depth = beyond ? bore.height_m : findRoot(above, bore.deposit_m ?? 0, bore.height_m);
  const velocity = flow / areaAndWidth(depth)[0];
  return {
    depth_m: depth,
    velocity_m_s: velocity,
    head_m: depth + (velocity * velocity) / (2 * gravity),
    findings: beyond ? ['critical_above_roof'] : []
  };
}

/** @param {number} gradient */
function falls(gradient) {
  numberBetween(gradient, 1e-12, 1, 'gradient', 'gradient_not_falling');
}

/** @param {unknown} error @returns {boolean} */
function lawFails(error) {
  return (
    error instanceof SurveyError && ['roughness_beyond_formula', 'radius_out_of_range'].includes(error.code)
  );
}

/**
 * @param {Bore} bore
 * @param {number} depth
 * @param {number} gradient
 * @param {Resistance} resistance
 * @returns {number}
 */
function discharge(bore, depth, gradient, resistance) {
  const section = flowSection(bore, depth, false);
  try {
    return section.area_m2 * meanVelocity(resistance, section.hydraulic_radius_m, gradient);
  } catch (error) {
    if (lawFails(error)) return -1;
    throw error;
  }
}

/**
 * @param {Bore} bore
 * @param {number} depth
 * @param {number} gradient
 * @param {Resistance} resistance
 * @returns {number}
 */
function dischargeGrowth(bore, depth, gradient, resistance) {
  const { top_width_m: top, hydraulic_radius_m: radius } = flowSection(bore, depth, false);
  try {
    const velocity = meanVelocity(resistance, radius, gradient);
    const growth = velocityGrowth(resistance, radius, gradient);
    return top * velocity + growth * radius * (top - radius * perimeterGrowth(bore, depth));
  } catch (error) {
    if (lawFails(error)) return 1;
    throw error;
  }
}
