/**
 * One check that every argument of the section and flow modules passes. Twin of
 * webapp/survey/numbers/checks.py.
 */
import { SurveyError } from '../errors.js';

/**
 * @param {unknown} value @param {number} low @param {number} high @param {string} field @param {string} code
 * @returns {number}
 */
export function numberBetween(value, low, high, field, code) {
  if (typeof value !== 'number' || !(value >= low && value <= high)) throw new SurveyError(code, field);
  return value;
}
