/** The figures of a run in sentences. Twin of webapp/survey/wording/figure_words.py. */
import { decimalText } from '../numbers/decimals.js';
import { degreesText, metres } from './wording.js';

const MANY = 999;
/** @type {Object<string, string>} */
const REASONS = {
  deposit: 'Without its deposit it would carry',
  deformation: 'In its original shape it would carry',
  narrowing: 'Without what narrows it most it would carry',
  even_fall: 'With its fall evened out it would carry',
  fall: 'With the best fall of the run it would carry',
  bore: 'With the largest bore of the run it would carry',
  roughness: 'With the smoothest wall of the run it would carry'
};

/** @param {number} chainageM @returns {string} a place along the pipe, to the centimetre */
export function placeText(chainageM) {
  return decimalText(chainageM, 2);
}

/** @param {number | null} sdM @returns {string} a standard deviation alone, rounded as beside its value */
export function spreadText(sdM) {
  return sdM === null ? '' : metres(sdM, sdM).split(', sd ')[1];
}

/** @param {number} riseM @param {number | null} sdM @returns {string} "falls 0.441 m, sd 0.015 m" */
export function changeText(riseM, sdM) {
  return `${riseM > 0 ? 'rises' : 'falls'} ${metres(Math.abs(riseM), sdM)}`;
}

/** @param {number} flowM3S @returns {string} in l/s, to about three figures */
export function litresText(flowM3S) {
  const litres = 1000 * flowM3S;
  return decimalText(litres, litres >= 99.95 ? 0 : litres >= 9.995 ? 1 : 2);
}

/** Why a stretch is the bottleneck of its run. @param {string} code @param {number} flowM3S @returns {string} */
export function reasonText(code, flowM3S) {
  return `${REASONS[code] ?? 'Without that it would carry'} ${litresText(flowM3S)} l/s.`;
}

/**
 * Where the water reaches the crown first when the flow grows.
 * @param {number} chainageM
 * @returns {string}
 */
export function crownText(chainageM) {
  return `The water reaches the crown first at ${placeText(chainageM)} m.`;
}

/**
 * At which flow the water at the upper end stands at its cover.
 * @param {number} flowM3S
 * @param {number} lowM3S
 * @param {number} highM3S
 * @param {string} node
 * @param {number} levelM
 * @returns {string}
 */
export function surchargeText(flowM3S, lowM3S, highM3S, node, levelM) {
  const [flow, low, high] = [flowM3S, lowM3S, highM3S].map(litresText);
  return `Above ${flow} l/s, 95 % band ${low} to ${high} l/s, the pipe under pressure, the water would stand over the cover of ${node} (${decimalText(levelM, 3)} m).`;
}

/** How many standard deviations something is out. @param {number} standardised @returns {string} */
export function timesText(standardised) {
  const size = Math.abs(standardised);
  return size > MANY ? `more than ${MANY}` : decimalText(size, 1);
}

/**
 * What most looks like a slip.
 * @param {string} kind
 * @param {number} fromM
 * @param {number} toM
 * @param {number} sizeM
 * @param {number} standardised
 * @returns {string}
 */
export function suspectText(kind, fromM, toM, sizeM, standardised) {
  const off = `${metres(Math.abs(sizeM), null)} out if it alone is, ${timesText(standardised)} times its standard deviation.`;
  if (kind === 'tie') return `Most suspicious: the level tie at ${placeText(fromM)} m. It is ${off}`;
  if (kind === 'start') return `Most suspicious: the level at the start. It is ${off}`;
  return `Most suspicious: a reading between ${placeText(fromM)} and ${placeText(toM)} m. It is ${off}`;
}

/**
 * That the ties do not fit a reading beyond the range.
 * @param {number} chainageM
 * @param {number | null} deg
 * @returns {string}
 */
export function gapText(chainageM, deg) {
  return `The ties do not fit the length beyond the range at ${placeText(chainageM)} m: it would need ${degreesText(deg)}.`;
}

/**
 * What a level at the far end would settle.
 * @param {number} tieSdM
 * @param {number | null} nowSdM
 * @param {number} thenSdM
 * @param {boolean} bothEnds
 * @returns {string}
 */
export function settleText(tieSdM, nowSdM, thenSdM, bothEnds) {
  const [end, what] = bothEnds ? ['each end', 'the fall'] : ['the far end', 'it'];
  const now = nowSdM === null ? 'from bounds only' : `sd ${spreadText(nowSdM)}`;
  return `A level at ${end}, taken to ${spreadText(tieSdM)} (assumed), would settle ${what}: ${now} to sd ${spreadText(thenSdM)}`;
}
