/**
 * Colebrook-White: velocity, friction factor and head loss. Twin of
 * webapp/survey/flow/colebrook.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';

export const TURBULENT_FROM = 4000; // Reynolds number
const LN10 = Math.log(10);

/**
 * @param {number} hydraulicRadiusM @param {number} gradient @param {number} roughnessM
 * @param {number} viscosityM2S @param {number} gravityMS2 @returns {number}
 */
export function velocity(hydraulicRadiusM, gradient, roughnessM, viscosityM2S, gravityMS2) {
  checkArguments(hydraulicRadiusM, gradient, roughnessM, viscosityM2S, gravityMS2);
  const pull = Math.sqrt(8 * gravityMS2 * hydraulicRadiusM * gradient);
  const inside =
    roughnessM / (14.8 * hydraulicRadiusM) + (2.51 * viscosityM2S) / (4 * hydraulicRadiusM * pull);
  if (inside >= 1) throw new SurveyError('roughness_beyond_formula', 'roughness_m');
  return (-2 * pull * Math.log(inside)) / LN10;
}

/**
 * @param {number} hydraulicRadiusM @param {number} gradient @param {number} roughnessM
 * @param {number} viscosityM2S @param {number} gravityMS2 @returns {number}
 */
export function velocityGrowth(hydraulicRadiusM, gradient, roughnessM, viscosityM2S, gravityMS2) {
  checkArguments(hydraulicRadiusM, gradient, roughnessM, viscosityM2S, gravityMS2);
  const pull = Math.sqrt(8 * gravityMS2 * hydraulicRadiusM * gradient);
  const rough = roughnessM / (14.8 * hydraulicRadiusM);
  const smooth = (2.51 * viscosityM2S) / (4 * hydraulicRadiusM * pull);
  const inside = rough + smooth;
  if (inside >= 1) throw new SurveyError('roughness_beyond_formula', 'roughness_m');
  const fall = (rough + 1.5 * smooth) / inside;
  return ((-pull / hydraulicRadiusM) * (Math.log(inside) - 2 * fall)) / LN10;
}

/** @param {number} reynoldsNumber @param {number} relativeRoughness @returns {number} */
export function frictionFactor(reynoldsNumber, relativeRoughness) {
  numberBetween(reynoldsNumber, TURBULENT_FROM, 1e12, 'reynolds_number', 'flow_not_turbulent');
  numberBetween(relativeRoughness, 0, 1, 'relative_roughness', 'roughness_out_of_range');
  const rough = relativeRoughness / 3.7;
  const smooth = 2.51 / reynoldsNumber;
  let x = 1;
  for (let i = 0; i < 60; i += 1) {
    const inside = rough + smooth * x;
    const value = x + (2 * Math.log(inside)) / LN10;
    const step = value / (1 + (2 * smooth) / (inside * LN10));
    x -= step;
    if (Math.abs(step) <= 1e-15 * x) break;
  }
  return 1 / (x * x);
}

/**
 * @param {number} hydraulicRadiusM @param {number} velocityMS @param {number} roughnessM
 * @param {number} viscosityM2S @param {number} gravityMS2 @returns {number}
 */
export function frictionSlope(hydraulicRadiusM, velocityMS, roughnessM, viscosityM2S, gravityMS2) {
  checkArguments(hydraulicRadiusM, 1, roughnessM, viscosityM2S, gravityMS2);
  numberBetween(velocityMS, 1e-9, 1e4, 'velocity_m_s', 'velocity_out_of_range');
  const across = 4 * hydraulicRadiusM;
  const factor = frictionFactor((velocityMS * across) / viscosityM2S, roughnessM / across);
  return (factor * velocityMS * velocityMS) / (2 * gravityMS2 * across);
}

/**
 * @param {number} radius @param {number} gradient @param {number} roughness @param {number} viscosity
 * @param {number} gravity
 */
function checkArguments(radius, gradient, roughness, viscosity, gravity) {
  numberBetween(radius, 1e-9, 100, 'hydraulic_radius_m', 'radius_out_of_range');
  numberBetween(gradient, 1e-12, 1, 'gradient', 'gradient_out_of_range');
  numberBetween(roughness, 0, 1, 'roughness_m', 'roughness_out_of_range');
  numberBetween(viscosity, 1e-9, 1e-2, 'viscosity_m2_s', 'viscosity_out_of_range');
  numberBetween(gravity, 1, 30, 'gravity_m_s2', 'gravity_out_of_range');
}
