/** Fall over a length, on plan or along the pipe. Twin of webapp/survey/plan/slopes.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';

const LEAST_ONE_IN = 1e-6; // steeper than this is upright

/** @param {number} lengthM @param {number} oneIn @returns {number} */
export function fallOnPlanM(lengthM, oneIn) {
  check(lengthM, oneIn, 'one_in');
  if (!(oneIn > LEAST_ONE_IN)) throw new SurveyError('gradient_one_in_zero', 'one_in');
  return lengthM / oneIn;
}

/** @param {number} lengthM @param {number} deg @returns {number} */
export function riseAlongM(lengthM, deg) {
  check(lengthM, deg, 'deg');
  if (Math.abs(deg) > 90) throw new SurveyError('inclination_beyond_vertical', 'deg');
  return lengthM * Math.sin((deg * Math.PI) / 180);
}

/** @param {number} riseM @param {number} planM @returns {[number, number]} */
export function slopeOf(riseM, planM) {
  check(planM, riseM, 'rise_m');
  if (riseM === 0 && planM === 0) throw new SurveyError('length_not_positive', 'plan_m');
  return [Math.sqrt(riseM * riseM + planM * planM), (Math.atan2(riseM, planM) * 180) / Math.PI];
}

/** @param {number} lengthM @param {number} value @param {string} name */
function check(lengthM, value, name) {
  finite(lengthM, 'length_m');
  finite(value, name);
  if (lengthM < 0) throw new SurveyError('length_negative', 'length_m');
}
