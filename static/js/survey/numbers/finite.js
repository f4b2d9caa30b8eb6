/** Numbers that arithmetic can go on with. Twin of webapp/survey/numbers/finite.py. */
import { SurveyError } from '../errors.js';

const FAR = 1e9; // no length, level or coordinate of this trade is larger [m]

/** @param {unknown} value @param {string} field @param {number | null} [index] @returns {number} */
export function finite(value, field, index = null) {
  if (typeof value !== 'number' || !Number.isFinite(value))
    throw new SurveyError('number_not_finite', field, index);
  if (!(value >= -FAR && value <= FAR)) throw new SurveyError('number_out_of_range', field, index);
  return value;
}

/** @param {unknown} value @param {string} field @param {number | null} [index] @returns {number} */
export function spread(value, field, index = null) {
  const number = finite(value, field, index);
  if (number < 0) throw new SurveyError('sd_negative', field, index);
  return number;
}
