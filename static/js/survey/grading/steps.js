/** How a number was worked out, step by step. Twin of webapp/survey/grading/steps.py. */
import { decimalText } from '../numbers/decimals.js';
import { GOALS } from './grading.js';
import { classWords, reasonWords, sizeText, spanText } from '../wording/grading_words.js';

/** @type {Object<string, string>} */
const INPUT_WORDS = {
  water_carried: 'the water it carries',
  protection_zone: 'the water protection zone',
  groundwater: 'the groundwater',
  soil: 'the soil around the pipe',
  clock: 'the clock position',
  at_joint: 'whether it is at a joint'
};

/**
 * @param {import('./run_grading.js').Graded} one
 * @param {string} goal
 * @param {any} scheme
 * @returns {string[]}
 */
export function stepWords(one, goal, scheme) {
  const found = one.classes[goal] ?? null;
  if (found === null) return [];
  const number = /** @type {import('./points.js').DamageNumber} */ (one.numbers[goal]);
  const { points } = one;
  const lines = [
    ...reasonWords(found, scheme),
    `Class to number: ${span(scheme.classes[found.low].number, scheme.classes[found.high].number)} points.`
  ];
  for (const index of points.parts) {
    const row = scheme.extra_points[index];
    if (row[goal] !== null) lines.push(`${signed(row[goal])} points: ${row.label} (${row.source}).`);
  }
  lines.push(`Number from what is recorded: ${span(number.recorded_low, number.recorded_high)}.`);
  const open = points.missing.filter((name) => matters(name, goal, scheme));
  if (open.length)
    lines.push(
      `Not known: ${missingWords(open)}. With all that these may add: ${span(number.low, number.high)}.`
    );
  return [
    ...lines,
    `So: class ${classWords(found.low, found.high, scheme)}; ${numberWords(one, goal, scheme)}.`
  ];
}

/**
 * The last line of how it was worked out.
 * @param {import('./run_grading.js').Graded} one
 * @param {string} goal
 * @param {any} scheme
 * @returns {string}
 */
export function numberWords(one, goal, scheme) {
  const number = /** @type {import('./points.js').DamageNumber} */ (one.numbers[goal]);
  const open = one.points.missing.some((name) => matters(name, goal, scheme));
  return open
    ? `${span(number.low, number.high)} points`
    : `${span(number.recorded_low, number.recorded_high)} points`;
}

/** @param {string[]} names @returns {string} */
export function missingWords(names) {
  return names.map((name) => INPUT_WORDS[name]).join(', ');
}

/** @param {import('./run_grading.js').Summary} summary @param {any} scheme @returns {string[]} */
export function objectWords(summary, scheme) {
  if (summary.number_low === null || summary.number_high === null)
    return ['Nothing was graded, so there is no number.'];
  const words = classWords(summary.class_low, summary.class_high, scheme);
  const { meaning } = scheme.classes[summary.class_high];
  const lines = [
    `Greatest number, from what is recorded: ${span(summary.number_low, summary.number_high)}. That is class ${words}: ${meaning}.`
  ];
  if (summary.bound_low !== summary.number_low || summary.bound_high !== summary.number_high) {
    lines.push(
      `With what is not recorded it may be ${span(Number(summary.bound_low), Number(summary.bound_high))} (bounded).`
    );
  }
  const [low, high] = [summary.length_number_low, summary.length_number_high];
  if (high === null)
    lines.push(`Damage-length number: at least ${decimalText(low, 0)} points m; a length is not known.`);
  else
    lines.push(
      `Damage-length number: ${spanText(decimalText(low, 0), decimalText(high, 0))} points m (computed).`
    );
  return lines;
}

/** @param {number} low @param {number} high @returns {string} */
function span(low, high) {
  return spanText(sizeText(low), sizeText(high));
}

/** @param {number} value @returns {string} */
function signed(value) {
  return value > 0 ? `+${sizeText(value)}` : sizeText(value);
}

/** @param {string} name @param {string} goal @param {any} scheme @returns {boolean} */
function matters(name, goal, scheme) {
  return (
    GOALS.includes(goal) &&
    scheme.extra_points.some((/** @type {any} */ row) => row.input === name && row[goal] !== null)
  );
}
