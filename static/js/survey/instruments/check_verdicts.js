/**
 * What an instrument check comes to: how far off, whether that is usual, what is done about it. Twin of
 * webapp/survey/instruments/check_verdicts.py.
 */
import { decimalText } from '../numbers/decimals.js';

/** @typedef {import('./instruments.js').Instruments} Instruments */

// The counter: within 0.5 % of the true length, City of Sunny Isles Beach (Florida), Section 02762, 3.2 and
// 3.5.
const USUAL_COUNTER_PCT = 0.5;
const USUAL_ZERO_DEG = 0.2; // common practice, no source
export const USUAL_TEXT =
  'Usual: the counter within 0.5 % of a taped length (what a published specification of inspections asks), ' +
  'the zero of the inclinometer within 0.2 degrees (common practice, no source).';
const AGAIN = ' Check it again before you rely on it.';
const ROUNDING = 1e-9;
/** By what was checked: both, the counter, the inclinometer. @type {Object<string, string>} */
const FOUND = {
  both: 'Counter {counter}; inclinometer zero {zero} degrees; {fit}.',
  counter: 'Counter {counter}, {fit}.',
  zero: 'Inclinometer zero {zero} degrees, {fit}.'
};
/** By what is off. @type {Object<string, string>} */
const DONE = {
  both: ' From now on distances are {way} by {pct} %, and {deg} degrees are {sign} every inclination.',
  counter: ' From now on distances are {way} by {pct} %.',
  zero: ' From now on {deg} degrees are {sign} every inclination.'
};

/** Empty where neither was checked. @param {Instruments} instruments @returns {string} */
export function verdictText(instruments) {
  const [counterChecked, zeroChecked] = [
    instruments.scale_known !== 'assumed',
    instruments.zero_known !== 'assumed'
  ];
  if (!counterChecked && !zeroChecked) return '';
  const [counts, zeroes] = withinUsual(instruments);
  /** @type {Object<string, string>} */
  const values = {
    counter: counterWords(instruments.scale),
    zero: sizeText(instruments.zero_deg),
    fit: fit(counterChecked && zeroChecked, counts, zeroes),
    way: instruments.scale < 1 ? 'shortened' : 'lengthened',
    pct: sizeText(100 * (instruments.scale - 1)),
    deg: sizeText(instruments.zero_deg),
    sign: instruments.zero_deg > 0 ? 'taken off' : 'added to'
  };
  const done =
    DONE[which(counterChecked && instruments.scale !== 1, zeroChecked && instruments.zero_deg !== 0)] ??
    ' Nothing is corrected.';
  let text = FOUND[which(counterChecked, zeroChecked)] + done;
  for (const [name, words] of Object.entries(values)) text = text.replaceAll(`{${name}}`, words);
  return counts && zeroes ? text : text + AGAIN;
}

/** @param {Instruments} instruments @returns {[boolean, boolean]} counter, inclinometer */
export function withinUsual(instruments) {
  const counter =
    instruments.scale_known === 'assumed' ||
    Math.abs(longPct(instruments.scale)) <= USUAL_COUNTER_PCT + ROUNDING;
  return [
    counter,
    instruments.zero_known === 'assumed' || Math.abs(instruments.zero_deg) <= USUAL_ZERO_DEG + ROUNDING
  ];
}

/** @param {boolean} counter @param {boolean} zero @returns {string} */
function which(counter, zero) {
  return counter && zero ? 'both' : counter ? 'counter' : zero ? 'zero' : '';
}

/** @param {number} scale @returns {number} */
function longPct(scale) {
  return 100 * (1 / scale - 1);
}

/** @param {number} scale @returns {string} */
function counterWords(scale) {
  const long = longPct(scale);
  return long === 0 ? 'agrees with the tape' : `reads ${sizeText(long)} % ${long > 0 ? 'long' : 'short'}`;
}

/** @param {boolean} both @param {boolean} counter @param {boolean} zero @returns {string} */
function fit(both, counter, zero) {
  if (!both) return counter && zero ? 'within the usual' : 'beyond the usual';
  if (counter === zero) return counter ? 'both within the usual' : 'both beyond the usual';
  return counter ? 'the inclinometer is beyond the usual' : 'the counter is beyond the usual';
}

/** A tenth is enough, but for what would be nothing by then. @param {number} value @returns {string} */
function sizeText(value) {
  const size = Math.abs(value);
  return decimalText(size, size >= 0.095 || size === 0 ? 1 : size >= 0.0095 ? 2 : 3);
}
