/**
 * How figures are said, the same to the letter on server and phone. Twin of webapp/survey/wording/wording.py.
 */
import { HALF, decimalText, signedText } from '../numbers/decimals.js';
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';
import { gradientOf } from '../instruments/gradient.js';

const FLATTEST = 9999; // flatter than 1 in this is said to be level
const UPRIGHT_DEG = 89.9;
const WORDS = ['measured', 'adjusted', 'computed', 'bounded', 'assumed'];
const NOT_KNOWN = 'not known';

/** @param {number | null} value @param {number | null} sd @returns {string} */
export function metres(value, sd) {
  if (value === null) return NOT_KNOWN;
  if (sd === null) return lengthText(value, 2);
  const places = spread(sd, 'sd') < 0.1 ? 3 : sd < 1 ? 2 : 1;
  return `${decimalText(value, places)} m, sd ${decimalText(sd, places)} m`;
}

/**
 * A length or level that stands without a standard deviation.
 * @param {number | null} valueM
 * @param {number} places
 * @returns {string}
 */
export function lengthText(valueM, places) {
  return valueM === null ? NOT_KNOWN : `${decimalText(valueM, places)} m`;
}

/** @param {number | null} deg @returns {string} */
export function oneInText(deg) {
  if (deg === null) return NOT_KNOWN;
  const oneIn = gradientOf(finite(deg, 'deg')).one_in;
  if (oneIn === null || oneIn > FLATTEST) return 'level';
  const way = deg > 0 ? 'rising' : 'falling';
  if (Math.abs(deg) >= UPRIGHT_DEG) return `vertical, ${way}`;
  return `1 in ${decimalText(oneIn, oneIn >= 9.95 ? 0 : 1)} ${way}`;
}

/** @param {number | null} deg @returns {string} */
export function percentText(deg) {
  if (deg === null) return NOT_KNOWN;
  const percent = gradientOf(finite(deg, 'deg')).pct;
  if (Math.abs(deg) >= UPRIGHT_DEG) return `vertical, ${deg > 0 ? 'rising' : 'falling'}`;
  return `${signedText(percent, 2)} %`;
}

/** @param {number | null} deg @returns {string} */
export function degreesText(deg) {
  return deg === null ? NOT_KNOWN : `${signedText(finite(deg, 'deg'), 2)}°`;
}

/** @param {string | null} known @returns {string} */
export function knownWord(known) {
  return known !== null && WORDS.includes(known) ? known : NOT_KNOWN;
}

/** @param {number | null} low @param {number | null} high @returns {string} */
export function atLeastText(low, high) {
  if (low !== null && high !== null && finite(low, 'low') > finite(high, 'high')) {
    throw new SurveyError('bounds_reversed', 'low');
  }
  if (low !== null && low === high) {
    const size = decimalText(Math.abs(low), 3);
    return size === '0.000' ? 'level (0.000 m)' : `${low > 0 ? 'rises' : 'falls'} ${size} m`;
  }
  if (low !== null && finite(low, 'low') >= 0) return `rises at least ${decimalText(low, 3)} m`;
  if (high !== null && finite(high, 'high') <= 0) return `falls at least ${decimalText(-high, 3)} m`;
  if (low === null || high === null) return NOT_KNOWN;
  return `between ${decimalText(-low, 3)} m falling and ${decimalText(high, 3)} m rising`;
}

/** @param {number | null} deg @returns {string} */
export function bearingText(deg) {
  if (deg === null) return NOT_KNOWN;
  const turned = finite(deg, 'deg') - 360 * Math.floor(deg / 360);
  const whole = Math.floor(turned + HALF) % 360;
  return `${String(whole).padStart(3, '0')}°`;
}

/** @param {number} distanceM @param {number} bearingDeg @param {number | null} radiusM @returns {string} */
export function walkText(distanceM, bearingDeg, radiusM) {
  const distance = spread(distanceM, 'distance_m');
  const text = `${decimalText(distance, distance >= 9.95 ? 0 : 1)} m at ${bearingText(bearingDeg)}`;
  if (radiusM === null) return text;
  const radius = Math.max(1, Math.ceil(spread(radiusM, 'radius_m') - 1e-9));
  return `${text}, look within ${radius} m`;
}
