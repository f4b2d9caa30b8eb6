/** The inclinometer's zero. Twin of webapp/survey/instruments/inclinometer.py. */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';

/**
 * @param {number} forwardDeg
 * @param {number} reversedDeg
 * @param {number} sdDeg
 * @returns {[number, number]}
 */
export function zeroFromReversal(forwardDeg, reversedDeg, sdDeg) {
  spread(sdDeg, 'sd_deg');
  if (Math.abs(finite(forwardDeg, 'forward_deg')) > 90)
    throw new SurveyError('inclination_beyond_vertical', 'forward_deg');
  if (Math.abs(finite(reversedDeg, 'reversed_deg')) > 90) {
    throw new SurveyError('inclination_beyond_vertical', 'reversed_deg');
  }
  return [(forwardDeg + reversedDeg) / 2, sdDeg / Math.sqrt(2)];
}
