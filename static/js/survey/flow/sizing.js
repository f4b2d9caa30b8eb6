/** Sizes and falls for a flow, boundary shear, self-cleansing. Twin of webapp/survey/flow/sizing.py. */
import { GREATEST_M, LEAST_M } from '../section/bore.js';
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { GREATEST_FLOW, LEAST_FLOW, depthForFlow, fullFlow } from './open_flow.js';
import { GRAVITY_M_S2, frictionSlope } from './resistance.js';
import { findRoot } from '../numbers/root_finding.js';
import { fullSection } from '../section/shape.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./resistance.js').Resistance} Resistance */

/**
 * @param {number} dischargeM3S @param {number} gradient @param {Resistance} resistance
 * @returns {{diameter_m: number, velocity_m_s: number}}
 */
export function diameterForFlow(dischargeM3S, gradient, resistance) {
  const wanted = numberBetween(
    dischargeM3S,
    LEAST_FLOW,
    GREATEST_FLOW,
    'discharge_m3_s',
    'flow_out_of_range'
  );
  if (fullFlow(circle(GREATEST_M), gradient, resistance).discharge_m3_s < wanted) {
    throw new SurveyError('flow_beyond_sizes', 'discharge_m3_s');
  }
  const above = (/** @type {number} */ size) => fullOrLess(circle(size), gradient, resistance) - wanted;
  if (above(LEAST_M) >= 0) throw new SurveyError('flow_beyond_sizes', 'discharge_m3_s');
  const size = findRoot(above, LEAST_M, GREATEST_M);
  return { diameter_m: size, velocity_m_s: wanted / fullSection(circle(size)).area_m2 };
}

/**
 * @param {Bore} bore @param {number} dischargeM3S @param {Resistance} resistance
 * @returns {{gradient: number, velocity_m_s: number, findings: string[]}}
 */
export function gradientForFlow(bore, dischargeM3S, resistance) {
  const wanted = numberBetween(
    dischargeM3S,
    LEAST_FLOW,
    GREATEST_FLOW,
    'discharge_m3_s',
    'flow_out_of_range'
  );
  const section = fullSection(bore);
  const velocity = wanted / section.area_m2;
  const slope = frictionSlope(resistance, section.hydraulic_radius_m, velocity);
  return { gradient: slope, velocity_m_s: velocity, findings: slope > 1 ? ['steeper_than_upright'] : [] };
}

/**
 * @param {number} hydraulicRadiusM
 * @param {number} gradient
 * @param {number} densityKgM3
 * @param {number} gravityMS2
 * @returns {number}
 */
export function boundaryShear(hydraulicRadiusM, gradient, densityKgM3, gravityMS2) {
  const radius = numberBetween(hydraulicRadiusM, 1e-9, 100, 'hydraulic_radius_m', 'radius_out_of_range');
  const slope = numberBetween(gradient, 1e-12, 1, 'gradient', 'gradient_not_falling');
  const density = numberBetween(densityKgM3, 500, 2000, 'density_kg_m3', 'density_out_of_range');
  const gravity = numberBetween(gravityMS2, 1, 30, 'gravity_m_s2', 'gravity_out_of_range');
  return density * gravity * radius * slope;
}

/**
 * @param {Bore} bore
 * @param {number} dischargeM3S
 * @param {number} gradient
 * @param {Resistance} resistance
 * @param {number} leastVelocityMS
 * @param {number} leastShearPa
 * @param {number} [densityKgM3]
 * @returns {{depth_m: number, velocity_m_s: number, shear_pa: number, by_velocity: boolean, by_shear:
 *   boolean, findings: string[]}}
 */
export function selfCleansing(
  bore,
  dischargeM3S,
  gradient,
  resistance,
  leastVelocityMS,
  leastShearPa,
  densityKgM3 = 1000
) {
  numberBetween(leastVelocityMS, 0, 100, 'least_velocity_m_s', 'limit_out_of_range');
  numberBetween(leastShearPa, 0, 10_000, 'least_shear_pa', 'limit_out_of_range');
  const found = depthForFlow(bore, dischargeM3S, gradient, resistance);
  const flow = found.flow ?? fullFlow(bore, gradient, resistance);
  const gravity = resistance.gravity_m_s2 === undefined ? GRAVITY_M_S2 : resistance.gravity_m_s2;
  const shear = boundaryShear(flow.hydraulic_radius_m, gradient, densityKgM3, gravity);
  return {
    depth_m: flow.depth_m,
    velocity_m_s: flow.velocity_m_s,
    shear_pa: shear,
    by_velocity: flow.velocity_m_s >= leastVelocityMS,
    by_shear: shear >= leastShearPa,
    findings: found.findings
  };
}

/** @param {number} size @returns {Bore} */
function circle(size) {
  return { kind: 'circular', height_m: size };
}

/** @param {Bore} bore @param {number} gradient @param {Resistance} resistance @returns {number} */
function fullOrLess(bore, gradient, resistance) {
  try {
    return fullFlow(bore, gradient, resistance).discharge_m3_s;
  } catch (error) {
    if (error instanceof SurveyError && error.code === 'roughness_beyond_formula') return -1;
    throw error;
  }
}
