/** Numbers with so many decimals. Twin of webapp/survey/numbers/decimals.py. */
import { SurveyError } from '../errors.js';
import { finite } from './finite.js';

export const MINUS = '−';
const POWERS = [1, 10, 100, 1000, 10000, 100000, 1000000];
export const HALF = 0.5 + 1e-9; // a typed half that binary cannot hold still goes up

/** @param {number} value @param {number} places @returns {string} */
export function decimalText(value, places) {
  const number = finite(value, 'value');
  if (![0, 1, 2, 3, 4, 5, 6].includes(places)) throw new SurveyError('places_out_of_range', 'places');
  const whole = Math.floor(Math.abs(number) * POWERS[places] + HALF);
  const digits = String(whole).padStart(places + 1, '0');
  const cut = digits.length - places;
  const text = places ? `${digits.slice(0, cut)}.${digits.slice(cut)}` : digits;
  return number < 0 && whole ? `${MINUS}${text}` : text;
}

/** @param {number} value @param {number} places @returns {string} */
export function signedText(value, places) {
  const text = decimalText(value, places);
  return value > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}
