/** The ellipse that holds a position 95 times in 100. Twin of webapp/survey/plan/ellipse.py. */
import { finite, spread } from '../numbers/finite.js';

/** @typedef {{semi_major_m: number, semi_minor_m: number, azimuth_deg: number}} Ellipse */
/** @typedef {[number, number]} Part */

const CHI2_95 = -2 * Math.log(0.05); // 5.99146, two degrees of freedom
const ROUND = 1e-12; // an ellipse rounder than this has no direction
const RADIAN = Math.PI / 180;

/** @param {Part[]} partsM @returns {Ellipse} */
export function ellipse95(partsM) {
  for (const [i, [e, n]] of partsM.entries()) {
    finite(e, 'parts_m', i);
    finite(n, 'parts_m', i);
  }
  const [ee, en, nn] = covariance(partsM);
  const lean = Math.sqrt((nn - ee) * (nn - ee) + 4 * en * en);
  const theta = lean <= ROUND * (ee + nn) ? 0 : Math.atan2(2 * en, nn - ee) / 2;
  const [sin, cos] = [Math.sin(theta), Math.cos(theta)];
  let [along, across] = [0, 0];
  for (const [e, n] of partsM) {
    const [a, b] = [sin * e + cos * n, cos * e - sin * n];
    along += a * a;
    across += b * b;
  }
  let azimuth = theta / RADIAN;
  if (azimuth < 0) azimuth += 180;
  if (azimuth > 180 - 1e-9) azimuth = 0;
  return {
    semi_major_m: Math.sqrt(along * CHI2_95),
    semi_minor_m: Math.sqrt(across * CHI2_95),
    azimuth_deg: azimuth
  };
}

/** @param {Part[]} partsM @returns {[number, number, number]} */
export function covariance(partsM) {
  let [ee, en, nn] = [0, 0, 0];
  for (const [e, n] of partsM) {
    ee += e * e;
    en += e * n;
    nn += n * n;
  }
  return [ee, en, nn];
}

/** @param {number} semiMajorM @param {number} positionAccuracyM @returns {number} */
export function searchRadiusM(semiMajorM, positionAccuracyM) {
  const own = spread(semiMajorM, 'semi_major_m');
  const walker = spread(positionAccuracyM, 'position_accuracy_m');
  return Math.sqrt(own * own + walker * walker);
}
