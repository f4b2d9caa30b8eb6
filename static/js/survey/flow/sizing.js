/** Boundary shear and self-cleansing. Twin of webapp/survey/flow/sizing.py. */
import { numberBetween } from '../numbers/checks.js';
import { depthForFlow, fullFlow } from './open_flow.js';
import { GRAVITY_M_S2 } from './resistance.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./resistance.js').Resistance} Resistance */
/**
 * @typedef {{depth_m: number, velocity_m_s: number, shear_pa: number, by_velocity: boolean, by_shear:
 *   boolean, findings: string[]}} SelfCleansing
 */

const WATER_KG_M3 = 1000;

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
 * @returns {SelfCleansing}
 */
export function selfCleansing(bore, dischargeM3S, gradient, resistance, leastVelocityMS, leastShearPa) {
  numberBetween(leastVelocityMS, 0, 100, 'least_velocity_m_s', 'limit_out_of_range');
  numberBetween(leastShearPa, 0, 10_000, 'least_shear_pa', 'limit_out_of_range');
  const found = depthForFlow(bore, dischargeM3S, gradient, resistance);
  const flow = found.flow ?? fullFlow(bore, gradient, resistance);
  const gravity = resistance.gravity_m_s2 === undefined ? GRAVITY_M_S2 : resistance.gravity_m_s2;
  const shear = boundaryShear(flow.hydraulic_radius_m, gradient, WATER_KG_M3, gravity);
  return {
    depth_m: flow.depth_m,
    velocity_m_s: flow.velocity_m_s,
    shear_pa: shear,
    by_velocity: flow.velocity_m_s >= leastVelocityMS,
    by_shear: shear >= leastShearPa,
    findings: found.findings
  };
}
