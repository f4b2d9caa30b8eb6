/** Gradients: degrees, percent, per mille, 1 in N. Twin of webapp/survey/instruments/gradient.py. */
import { SurveyError } from '../errors.js';

/**
 * @typedef {Partial<import('../../records/types.js').Inclination>}
 *   Inclination   as it is typed, perhaps in part
 */

/** @typedef {import('../../records/types.js').InclinationUnit} InclinationUnit */

const NUMBER = String.raw`(\d+(?:[.,]\d*)?|[.,]\d+)`;
const ONE_IN = new RegExp(String.raw`^([+-]?)\s*1\s*(?:in|:|/)\s*${NUMBER}$`);
const PLAIN = new RegExp(
  String.raw`^([+-]?)\s*${NUMBER}\s*(%|pct|percent|‰|permille|per mille|mm/m|°|deg|degrees?)?$`
);
/** @type {Object<string, InclinationUnit>} */
const UNITS = {
  '%': 'pct',
  pct: 'pct',
  percent: 'pct',
  '‰': 'permille',
  permille: 'permille',
  'per mille': 'permille',
  'mm/m': 'permille',
  '°': 'deg',
  deg: 'deg',
  degree: 'deg',
  degrees: 'deg'
};
const LEVEL = 1e-9; // flatter than this has no N
/** @type {Object<string, number>} */
const SENSES = { rising: 1, falling: -1, level: 0 };

/** @param {string} text @param {InclinationUnit} defaultUnit @returns {Inclination} */
export function parseInclination(text, defaultUnit) {
  const typed = text.trim();
  const plain = typed.toLowerCase().replace('−', '-');
  let sign, size;
  /** @type {InclinationUnit} */
  let unit;
  let found = ONE_IN.exec(plain);
  if (found) {
    [sign, size, unit] = [found[1], number(found[2]), 'one_in'];
  } else {
    found = PLAIN.exec(plain);
    if (!found) throw new SurveyError('inclination_unreadable', 'text');
    [sign, size, unit] = [found[1], number(found[2]), found[3] ? UNITS[found[3]] : defaultUnit];
  }
  if (unit === 'one_in' && size === 0) throw new SurveyError('gradient_one_in_zero', 'text');
  if (unit === 'deg' && size > 90) throw new SurveyError('inclination_beyond_vertical', 'text');
  /** @type {Inclination} */
  const value = { size, unit, typed };
  if (size === 0) value.sense = 'level';
  else if (sign) value.sense = sign === '+' ? 'rising' : 'falling';
  return value;
}

/** @param {Inclination} inclination @returns {number | null} */
export function inclinationDeg(inclination) {
  if (inclination.over_range) return null;
  const size = Number(inclination.size);
  const sign = SENSES[inclination.sense ?? ''];
  if (inclination.unit === 'deg') return sign * size;
  let tangent;
  if (inclination.unit === 'pct') tangent = size / 100;
  else if (inclination.unit === 'permille') tangent = size / 1000;
  else if (inclination.unit === 'one_in') {
    if (size === 0) throw new SurveyError('gradient_one_in_zero', 'size');
    tangent = 1 / size;
  } else throw new SurveyError('inclination_unit', 'unit');
  return sign * ((Math.atan(tangent) * 180) / Math.PI);
}

/** @param {number} deg @returns {{deg: number, pct: number, permille: number, one_in: number | null}} */
export function gradientOf(deg) {
  if (!(deg >= -90 && deg <= 90)) throw new SurveyError('inclination_beyond_vertical', 'deg');
  const tangent = Math.tan((deg * Math.PI) / 180);
  return {
    deg,
    pct: 100 * tangent,
    permille: 1000 * tangent,
    one_in: Math.abs(tangent) < LEVEL ? null : 1 / Math.abs(tangent)
  };
}

/** @param {string} text @returns {number} */
function number(text) {
  return Number(text.replace(',', '.'));
}
