/** Backfalls, sags and water in sentences. Twin of webapp/survey/wording/water_words.py. */
import { decimalText } from '../numbers/decimals.js';
import { placeText } from './figure_words.js';
import { metres } from './wording.js';

const UNSURE = 'less than twice its standard deviation.';
/** @type {Object<string, string>} */
const VERDICTS = {
  agrees: 'They agree.',
  deeper: 'More than the levels explain: something holds it back, or the levels are out.',
  shallower: 'Less than the levels explain: the levels may be out.'
};

/**
 * @param {number} fromM
 * @param {number} toM
 * @param {number} riseM
 * @param {number | null} sdM
 * @param {boolean} sure
 * @param {boolean} atLeast
 * @returns {string}
 */
export function backfallText(fromM, toM, riseM, sdM, sure, atLeast) {
  const [where, size] = [`from ${placeText(fromM)} to ${placeText(toM)} m`, metres(riseM, sdM)];
  if (atLeast) return `Backfall ${where}: rises at least ${size} with the flow (bounded).`;
  if (sure) return `Backfall ${where}: rises ${size} with the flow (computed).`;
  return `Possible backfall ${where}: rises ${size} with the flow (computed); ${UNSURE}`;
}

/**
 * @param {number} fromM
 * @param {number} toM
 * @param {number} depthM
 * @param {number | null} sdM
 * @param {number} lowM
 * @param {boolean} sure
 * @param {boolean} atLeast
 * @returns {string}
 */
export function sagText(fromM, toM, depthM, sdM, lowM, sure, atLeast) {
  const [where, size] = [`from ${placeText(fromM)} to ${placeText(toM)} m`, metres(depthM, sdM)];
  const low = `deep at ${placeText(lowM)} m`;
  if (atLeast) return `Sag ${where}: water would stand at least ${size} ${low} (bounded).`;
  if (sure) return `Sag ${where}: water would stand ${size} ${low} (computed).`;
  return `Possible sag ${where}: ${size} ${low} (computed); ${UNSURE}`;
}

/**
 * @param {number} chainageM
 * @param {number} observedM
 * @param {number | null} sdM
 * @param {number} computedM
 * @returns {string}
 */
export function seenText(chainageM, observedM, sdM, computedM) {
  const seen = metres(observedM, sdM);
  return `Water seen at ${placeText(chainageM)} m: ${seen} above the running water; the levels explain ${decimalText(computedM, 3)} m.`;
}

/** @param {string} verdict @returns {string} */
export function verdictText(verdict) {
  return Object.hasOwn(VERDICTS, verdict) ? VERDICTS[verdict] : '';
}

/** @param {number | null} volumeM3 @returns {string} */
export function volumeText(volumeM3) {
  if (volumeM3 === null) return 'not known: size not recorded';
  return volumeM3 < 1 ? `${decimalText(1000 * volumeM3, 0)} litres` : `${decimalText(volumeM3, 1)} m³`;
}
