/**
 * Condition classes in words: the class, what it rests on. Twin of webapp/survey/wording/grading_words.py.
 */
import { decimalText } from '../numbers/decimals.js';

/** @typedef {import('../grading/grading.js').Found} Found */

export const PRELIMINARY = 'Preliminary until an engineer confirms it.';
/** @type {Object<string, string>} */
export const GOAL_WORDS = { tightness: 'Tightness', stability: 'Stability', operation: 'Operation' };
/** @type {Object<string, string>} */
const FINDING_WORDS = {
  size_not_recorded: 'Its size was not recorded.',
  kind_not_recorded: 'Its kind was not recorded.',
  pattern_not_recorded: 'Whether it is one crack or several was not recorded.',
  pipe_not_known: 'Whether the pipe is rigid or flexible is not known: its material was not recorded.',
  size_not_known: 'The size of the pipe is not known.',
  shape_not_known: 'The shape of the pipe is not known.',
  only_round_pipes: 'For a pipe that is not round the capacity left cannot be computed.',
  beyond_half: 'Beyond half the diameter nothing can be computed.',
  step_as_deposit: 'The step was taken as a bar across the invert.',
  width_of_it_not_known: 'How wide it is was not recorded: at worst it reaches from wall to wall.',
  disputed: 'Two values stand in dispute; the class spans both.',
  rests_on_area: 'Judged by the area alone.',
  gradient_assumed: 'The fall is not known; 1 in 100 was assumed, which hardly matters for a share.'
};

/** @param {number} low @param {number} high @param {any} scheme @returns {string} */
export function classWords(low, high, scheme) {
  const words = scheme.classes.map((/** @type {any} */ one) => one.word);
  if (high === 0) return words[0];
  if (low === high) return `${high}, ${words[high]}`;
  return `between ${low}, ${words[low]}, and ${high}, ${words[high]}`;
}

/** @param {Found} one @param {any} scheme @returns {string} */
export function basisWords(one, scheme) {
  let { basis, source, certainty } = scheme.rows[one.row];
  if (one.rule === 'capacity')
    [basis, source, certainty] = [
      scheme.narrowing_basis,
      scheme.narrowing_source,
      scheme.narrowing_certainty
    ];
  return basis === 'indicative' ? 'indicative, limits of this project' : `${source} (${certainty})`;
}

/** @param {Found} one @param {any} scheme @returns {string[]} */
export function reasonWords(one, scheme) {
  const words = classWords(one.low, one.high, scheme);
  const basis = basisWords(one, scheme);
  const lines = [];
  if (one.left_of !== null) {
    lines.push(`It leaves ${shareWords(one)}: class ${words} (${basis}).`);
    if (one.left_of === 'capacity')
      lines.push('Computed as if it went on along the pipe, at the roughness of the wall.');
  } else if (one.low !== one.high || one.findings.length) lines.push(`Class ${words} (${basis}).`);
  else if (one.rule === 'limits') {
    lines.push(
      `${sizeText(Number(one.quantity))} ${one.unit}: class ${words}, from ${sizeText(Number(one.limit))} ${one.unit} (${basis}).`
    );
  } else lines.push(`Class ${words}, for what it is, whatever its size (${basis}).`);
  lines.push(...one.findings.map((code) => FINDING_WORDS[code] ?? `It could not be computed (${code}).`));
  const { note } = scheme.rows[one.row];
  if (note) lines.push(note);
  if (one.review) lines.push('The code says too little for more: to be reviewed by an engineer.');
  return lines;
}

/** @param {Found} one @returns {string} */
function shareWords(one) {
  const [low, high] = [decimalText(Number(one.left_low_pct), 1), decimalText(Number(one.left_high_pct), 1)];
  const of = one.left_of === 'capacity' ? 'of the clean full-bore capacity' : 'of the clean area';
  return `${spanText(low, high)} % ${of} (${low === high ? 'computed' : 'bounded'})`;
}

/** @param {string} low @param {string} high @returns {string} */
export function spanText(low, high) {
  return low === high ? low : `${low} to ${high}`;
}

/** @param {number} value @returns {string} */
export function sizeText(value) {
  for (const places of [0, 1]) {
    if (value * 10 ** places === Math.trunc(value * 10 ** places)) return decimalText(value, places);
  }
  return decimalText(value, 2);
}
