/**
 * Manning's formula in SI units: velocity, head loss and roughness. Twin of webapp/survey/flow/manning.py.
 */
import { numberBetween } from '../numbers/checks.js';

/** @param {number} hydraulicRadiusM @param {number} gradient @param {number} manningN @returns {number} */
export function velocity(hydraulicRadiusM, gradient, manningN) {
  checkArguments(hydraulicRadiusM, gradient, manningN);
  return (Math.pow(hydraulicRadiusM, 2 / 3) * Math.sqrt(gradient)) / manningN;
}

/** @param {number} hydraulicRadiusM @param {number} gradient @param {number} manningN @returns {number} */
export function velocityGrowth(hydraulicRadiusM, gradient, manningN) {
  return ((2 / 3) * velocity(hydraulicRadiusM, gradient, manningN)) / hydraulicRadiusM;
}

/** @param {number} hydraulicRadiusM @param {number} velocityMS @param {number} manningN @returns {number} */
export function frictionSlope(hydraulicRadiusM, velocityMS, manningN) {
  checkArguments(hydraulicRadiusM, 1, manningN);
  numberBetween(velocityMS, 1e-9, 1e4, 'velocity_m_s', 'velocity_out_of_range');
  const root = (velocityMS * manningN) / Math.pow(hydraulicRadiusM, 2 / 3);
  return root * root;
}

/** @param {number} radius @param {number} gradient @param {number} roughness */
function checkArguments(radius, gradient, roughness) {
  numberBetween(radius, 1e-9, 100, 'hydraulic_radius_m', 'radius_out_of_range');
  numberBetween(gradient, 1e-12, 1, 'gradient', 'gradient_out_of_range');
  numberBetween(roughness, 0.001, 1, 'manning_n', 'roughness_out_of_range');
}
