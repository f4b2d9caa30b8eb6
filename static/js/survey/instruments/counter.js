/** The cable counter: chainage from raw readings. Twin of webapp/survey/instruments/counter.py. */
import { SurveyError } from '../errors.js';

const COUNTER = /^([+-]?)(\d+(?:[.,]\d*)?|[.,]\d+)\s*m?$/;

/** @param {string} text @returns {number} */
export function parseCounter(text) {
  const found = COUNTER.exec(text.trim().toLowerCase().replace('−', '-'));
  if (!found) throw new SurveyError('number_unreadable', 'text');
  const value = Number(found[2].replace(',', '.'));
  if (found[1] === '-' && value > 0) throw new SurveyError('counter_below_zero', 'text');
  return value;
}

/** @param {number} counterM @param {number} counterZeroM @param {number} scale @returns {number} */
export function chainageM(counterM, counterZeroM, scale) {
  if (!(scale > 0)) throw new SurveyError('scale_not_positive', 'scale');
  return (counterM - counterZeroM) * scale;
}
