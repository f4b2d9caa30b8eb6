/**
 * What an instrument check comes to: how far off, whether that is usual, what is done about it. Twin of
 * webapp/survey/wording/checks.py.
 */
import { fixedText } from './quantities.js';
import { message, sentences } from './messages.js';

/** @typedef {import('./messages.js').Words} Words */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */

// The counter: within 0.5 % of the true length, City of Sunny Isles Beach (Florida), Section 02762, 3.2 and
// 3.5.
const USUAL_COUNTER_PCT = 0.5;
const USUAL_ZERO_DEG = 0.2; // common practice, no source
const ROUNDING = 1e-9;

/**
 * Empty where neither was checked.
 * @param {Words} words
 * @param {Instruments} instruments
 * @returns {string}
 */
export function verdictText(words, instruments) {
  const [counterChecked, zeroChecked] = [
    instruments.scale_known !== 'assumed',
    instruments.zero_known !== 'assumed'
  ];
  if (!counterChecked && !zeroChecked) return '';
  const usual = withinUsual(instruments);
  const deg = shownSize(words, instruments.zero_deg);
  const values = {
    long: shownSize(words, longPct(instruments.scale)),
    zero: deg,
    pct: shownSize(words, 100 * (instruments.scale - 1)),
    deg
  };
  const way =
    counterChecked && instruments.scale !== 1 ? [instruments.scale < 1 ? 'shortened' : 'lengthened'] : [];
  const sign = zeroChecked && instruments.zero_deg !== 0 ? [instruments.zero_deg > 0 ? 'less' : 'more'] : [];
  const keys = [
    foundKey(instruments, usual),
    [...way, ...sign].join('_') || 'nothing',
    ...(usual[0] && usual[1] ? [] : ['again'])
  ];
  return sentences(
    words,
    keys.map((key) => message(words, `survey.check.${key}`, values))
  );
}

/** @param {Instruments} instruments @param {[boolean, boolean]} usual @returns {string} */
function foundKey(instruments, usual) {
  const both = instruments.scale_known !== 'assumed' && instruments.zero_known !== 'assumed';
  const fit = usual[0] && usual[1] ? 'usual' : 'beyond';
  if (instruments.scale_known === 'assumed') return `zero_${fit}`;
  const long = longPct(instruments.scale);
  const counter = long === 0 ? 'agrees' : long > 0 ? 'long' : 'short';
  if (both && usual[0] !== usual[1]) return `both_${counter}_${usual[0] ? 'zero_beyond' : 'counter_beyond'}`;
  return `${both ? 'both' : 'counter'}_${counter}_${fit}`;
}

/** What is usual, and who says so. @param {Words} words @returns {string} */
export function usualText(words) {
  return message(words, 'survey.check.usual', {
    counter_pct: fixedText(words, USUAL_COUNTER_PCT, 1),
    zero_deg: fixedText(words, USUAL_ZERO_DEG, 1)
  });
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

/** @param {number} scale @returns {number} */
function longPct(scale) {
  return 100 * (1 / scale - 1);
}

/** A tenth is enough, but for what would be nothing by then. @param {Words} words @param {number} value @returns {string} */
function shownSize(words, value) {
  const size = Math.abs(value);
  return fixedText(words, size, size >= 0.095 || size === 0 ? 1 : size >= 0.0095 ? 2 : 3);
}
