/** Numbers in words: lengths, gradients, bearings, flows and volumes, each with its unit. Twin of webapp/survey/wording/quantities.py. */
import { HALF, decimalText, signedText } from '../numbers/decimals.js';
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';
import { gradientOf } from '../instruments/gradient.js';
import { message, numberText } from './messages.js';

/** @typedef {import('./messages.js').Words} Words */

const FLATTEST = 9999; // flatter than 1 in this is called level
const UPRIGHT_DEG = 89.9;
const MANY = 999;
const KNOWN = ['measured', 'adjusted', 'computed', 'bounded', 'assumed'];

/** @param {Words} words @returns {string} */
const notKnown = (words) => message(words, 'survey.not_known', {});

/** A number as it enters a sentence. @param {Words} words @param {number} value @param {number} places @returns {string} */
export function fixedText(words, value, places) {
  return numberText(words, decimalText(value, places));
}

/** The same with its sign. @param {Words} words @param {number} value @param {number} places @returns {string} */
export function fixedSignedText(words, value, places) {
  return numberText(words, signedText(value, places));
}

/** @param {Words} words @param {number | null} value @param {number | null} sd @returns {string} */
export function metres(words, value, sd) {
  if (value === null) return notKnown(words);
  if (sd === null) return lengthText(words, value, 2);
  const places = decimalsBeside(sd);
  return message(words, 'survey.metres_sd', {
    m: fixedText(words, value, places),
    sd_m: fixedText(words, sd, places)
  });
}

/** How many decimals of a length count beside its standard deviation. @param {number} sd @returns {number} */
export function decimalsBeside(sd) {
  return spread(sd, 'sd') < 0.1 ? 3 : sd < 1 ? 2 : 1;
}

/** A length or level that stands without a standard deviation. @param {Words} words @param {number | null} valueM @param {number} places @returns {string} */
export function lengthText(words, valueM, places) {
  return valueM === null
    ? notKnown(words)
    : message(words, 'survey.metres', { m: fixedText(words, valueM, places) });
}

/** @param {Words} words @param {number} chainageM @returns {string} a place along the pipe, to the centimetre */
export function placeText(words, chainageM) {
  return fixedText(words, chainageM, 2);
}

/** @param {Words} words @param {number | null} sdM @returns {string} a standard deviation alone, rounded as beside its value */
export function spreadText(words, sdM) {
  return sdM === null ? '' : lengthText(words, sdM, decimalsBeside(sdM));
}

/** @param {Words} words @param {number} riseM @param {number | null} sdM @returns {string} "falls 0.441 m, sd 0.015 m" */
export function changeText(words, riseM, sdM) {
  return message(words, `survey.change.${riseM > 0 ? 'rises' : 'falls'}`, {
    size: metres(words, Math.abs(riseM), sdM)
  });
}

/** The same, its standard deviation by itself. @param {Words} words @param {number} riseM @param {number | null} sdM @returns {[string, string]} */
export function changeParts(words, riseM, sdM) {
  if (sdM === null) return [changeText(words, riseM, null), ''];
  const size = lengthText(words, Math.abs(riseM), decimalsBeside(sdM));
  return [message(words, `survey.change.${riseM > 0 ? 'rises' : 'falls'}`, { size }), spreadText(words, sdM)];
}

/** @param {Words} words @param {number | null} low @param {number | null} high @returns {string} */
export function atLeastText(words, low, high) {
  if (low !== null && high !== null && finite(low, 'low') > finite(high, 'high')) {
    throw new SurveyError('bounds_reversed', 'low');
  }
  if (low !== null && low === high) {
    const way = decimalText(Math.abs(low), 3) === '0.000' ? 'none' : low > 0 ? 'rises' : 'falls';
    return message(words, `survey.change.${way}`, { size: lengthText(words, Math.abs(low), 3) });
  }
  if (low !== null && finite(low, 'low') >= 0)
    return message(words, 'survey.change.rises_at_least', { m: fixedText(words, low, 3) });
  if (high !== null && finite(high, 'high') <= 0)
    return message(words, 'survey.change.falls_at_least', { m: fixedText(words, -high, 3) });
  if (low === null || high === null) return notKnown(words);
  return message(words, 'survey.change.between', {
    low_m: fixedText(words, -low, 3),
    high_m: fixedText(words, high, 3)
  });
}

/** How steep, and for 1 in N how much it is in 1. @param {Words} words @param {number | null} deg @returns {[string, string]} */
export function steepness(words, deg) {
  if (deg === null) return ['not_known', ''];
  const oneIn = gradientOf(finite(deg, 'deg')).one_in;
  if (oneIn === null || oneIn > FLATTEST) return ['level', ''];
  if (Math.abs(deg) >= UPRIGHT_DEG) return ['vertical', ''];
  return ['one_in', fixedText(words, oneIn, oneIn >= 9.95 ? 0 : 1)];
}

/** @param {Words} words @param {number | null} deg @returns {string} */
export function oneInText(words, deg) {
  const [kind, size] = steepness(words, deg);
  if (deg === null) return notKnown(words);
  if (kind === 'level') return message(words, 'survey.gradient.level', {});
  return message(words, `survey.gradient.${kind}_${deg > 0 ? 'rising' : 'falling'}`, { size });
}

/** @param {Words} words @param {number | null} deg @returns {string} */
export function percentText(words, deg) {
  if (deg === null) return notKnown(words);
  const percent = gradientOf(finite(deg, 'deg')).pct;
  if (Math.abs(deg) >= UPRIGHT_DEG)
    return message(words, `survey.gradient.vertical_${deg > 0 ? 'rising' : 'falling'}`, {});
  return message(words, 'survey.gradient.percent', { pct: fixedSignedText(words, percent, 2) });
}

/** @param {Words} words @param {number | null} deg @returns {string} */
export function degreesText(words, deg) {
  return deg === null
    ? notKnown(words)
    : message(words, 'survey.gradient.degrees', { deg: fixedSignedText(words, finite(deg, 'deg'), 2) });
}

/** @param {Words} words @param {string | null} provenance @returns {string} */
export function knownWord(words, provenance) {
  return provenance !== null && KNOWN.includes(provenance)
    ? message(words, `survey.known.${provenance}`, {})
    : notKnown(words);
}

/** @param {Words} words @param {string} unit @returns {string} */
export function unitText(words, unit) {
  const key = `survey.unit.${unit}`;
  return Object.hasOwn(words, key) ? message(words, key) : unit;
}

/** @param {Words} words @param {number | null} deg @returns {string} */
export function bearingText(words, deg) {
  if (deg === null) return notKnown(words);
  const turned = finite(deg, 'deg') - 360 * Math.floor(deg / 360);
  return message(words, 'survey.bearing', { deg: String(Math.floor(turned + HALF) % 360).padStart(3, '0') });
}

/** @param {Words} words @param {number} distanceM @param {number} bearingDeg @param {number | null} radiusM @returns {string} */
export function walkText(words, distanceM, bearingDeg, radiusM) {
  const distance = spread(distanceM, 'distance_m');
  const values = {
    m: fixedText(words, distance, distance >= 9.95 ? 0 : 1),
    bearing: bearingText(words, bearingDeg)
  };
  if (radiusM === null) return message(words, 'survey.walk', values);
  const radius = Math.max(1, Math.ceil(spread(radiusM, 'radius_m') - 1e-9));
  return message(words, 'survey.walk_radius', { ...values, radius_m: String(radius) });
}

/** @param {Words} words @param {number} flowM3S @returns {string} in l/s, to about three figures */
export function litresText(words, flowM3S) {
  const litres = 1000 * flowM3S;
  return fixedText(words, litres, litres >= 99.95 ? 0 : litres >= 9.995 ? 1 : 2);
}

/** @param {Words} words @param {number | null} volumeM3 @returns {string} */
export function volumeText(words, volumeM3) {
  if (volumeM3 === null) return message(words, 'survey.volume.not_known', {});
  if (volumeM3 < 1)
    return message(words, 'survey.volume.litres', { litres: fixedText(words, 1000 * volumeM3, 0) });
  return message(words, 'survey.volume.cubic', { m3: fixedText(words, volumeM3, 1) });
}

/** How many standard deviations something is out. @param {Words} words @param {number} standardised @returns {string} */
export function timesText(words, standardised) {
  const size = Math.abs(standardised);
  return size > MANY ? message(words, 'survey.more_than', { size: String(MANY) }) : fixedText(words, size, 1);
}

/** @param {Words} words @param {string} low @param {string} high @returns {string} */
export function spanText(words, low, high) {
  return low === high ? low : message(words, 'survey.span', { low, high });
}

/** @param {Words} words @param {number} value @returns {string} */
export function sizeText(words, value) {
  for (const places of [0, 1]) {
    if (value * 10 ** places === Math.trunc(value * 10 ** places)) return fixedText(words, value, places);
  }
  return fixedText(words, value, 2);
}
