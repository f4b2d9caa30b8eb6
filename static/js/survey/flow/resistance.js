/** Which law of resistance holds, with its roughness. Twin of webapp/survey/flow/resistance.py. */
import * as colebrook from './colebrook.js';
import { SurveyError } from '../errors.js';
import * as manning from './manning.js';

/**
 * @typedef {{law: string, roughness_m?: number | null, manning_n?: number | null,
 *   viscosity_m2_s?: number, gravity_m_s2?: number}} Resistance
 */

export const LAWS = ['colebrook_white', 'manning'];
export const VISCOSITY_M2_S = 1.31e-6; // water at 10 degrees C
export const GRAVITY_M_S2 = 9.80665;
const ROUGHEST = 0.05; // k_s over 4 R: beyond it the formula is stretched (end of the Moody diagram)

/**
 * @param {Resistance} resistance
 * @param {number} hydraulicRadiusM
 * @param {number} gradient
 * @returns {number}
 */
export function meanVelocity(resistance, hydraulicRadiusM, gradient) {
  if (isManning(resistance)) return manning.velocity(hydraulicRadiusM, gradient, resistance.manning_n ?? 0);
  const [viscosity, gravity] = water(resistance);
  return colebrook.velocity(hydraulicRadiusM, gradient, roughness(resistance), viscosity, gravity);
}

/**
 * @param {Resistance} resistance
 * @param {number} hydraulicRadiusM
 * @param {number} gradient
 * @returns {number}
 */
export function velocityGrowth(resistance, hydraulicRadiusM, gradient) {
  if (isManning(resistance))
    return manning.velocityGrowth(hydraulicRadiusM, gradient, resistance.manning_n ?? 0);
  const [viscosity, gravity] = water(resistance);
  return colebrook.velocityGrowth(hydraulicRadiusM, gradient, roughness(resistance), viscosity, gravity);
}

/**
 * @param {Resistance} resistance
 * @param {number} hydraulicRadiusM
 * @param {number} velocityMS
 * @returns {number}
 */
export function frictionSlope(resistance, hydraulicRadiusM, velocityMS) {
  if (isManning(resistance))
    return manning.frictionSlope(hydraulicRadiusM, velocityMS, resistance.manning_n ?? 0);
  const [viscosity, gravity] = water(resistance);
  return colebrook.frictionSlope(hydraulicRadiusM, velocityMS, roughness(resistance), viscosity, gravity);
}

/**
 * @param {Resistance} resistance
 * @param {number} hydraulicRadiusM
 * @param {number} velocityMS
 * @returns {string[]}
 */
export function flowFindings(resistance, hydraulicRadiusM, velocityMS) {
  if (isManning(resistance)) return [];
  const across = 4 * hydraulicRadiusM;
  const found = [];
  if ((velocityMS * across) / water(resistance)[0] < colebrook.TURBULENT_FROM)
    found.push('flow_not_turbulent');
  if (roughness(resistance) / across > ROUGHEST) found.push('roughness_large');
  return found;
}

/** @param {Resistance} resistance @returns {[number, number]} */
function water(resistance) {
  const { viscosity_m2_s: viscosity, gravity_m_s2: gravity } = resistance;
  return [
    viscosity === undefined ? VISCOSITY_M2_S : viscosity,
    gravity === undefined ? GRAVITY_M_S2 : gravity
  ];
}

/** @param {Resistance} resistance @returns {boolean} */
function isManning(resistance) {
  if (!LAWS.includes(resistance.law)) throw new SurveyError('law_unknown', 'law');
  return resistance.law === 'manning';
}

/** @param {Resistance} resistance @returns {number} */
function roughness(resistance) {
  if (resistance.roughness_m === null || resistance.roughness_m === undefined) {
    throw new SurveyError('roughness_out_of_range', 'roughness_m');
  }
  return resistance.roughness_m;
}
