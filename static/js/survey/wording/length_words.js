/** One length surveyed in pieces, in sentences. Twin of webapp/survey/wording/length_words.py. */
import { decimalText } from '../numbers/decimals.js';
import { placeText } from './figure_words.js';

/** @typedef {import('../lengths/pipe_length.js').LengthJoin} LengthJoin */

const SHOWN_M = 0.005; // less is nothing at two decimals
/** @type {Object<string, string>} */
const RESTS_ON = {
  seen_from_both: 'The chainages join at what both runs saw: {length} m from end to end.',
  counter: 'The chainages join by the counter of the run that went all the way: {length} m from end to end.',
  expected: 'The chainages join by the length expected: {length} m from end to end.',
  obstruction:
    'The chainages join at what stopped both runs: at least {length} m from end to end. How much pipe it fills is not known.',
  same_start: 'The runs start at the same end, so their chainages are the same: surveyed to {length} m.',
  unknown:
    'How the runs lie to each other is not known, so what lies between them is not known either. ' +
    'Record the length expected, or mark something that both runs saw as the same.'
};

/** @param {LengthJoin} join @param {number} perhaps @returns {string[]} */
export function joinLines(join, perhaps) {
  const lines = [
    RESTS_ON[join.how].replace('{length}', join.length_m === null ? '' : placeText(join.length_m))
  ];
  if (join.closing_m !== null) {
    lines.push(
      `Closing difference, the length expected less what was surveyed from either end: ${decimalText(join.closing_m, 2)} m.`
    );
  }
  if (join.how === 'expected' && (join.closing_m ?? 0) <= -SHOWN_M)
    lines.push('Either the runs overlap, or a counter or the length expected is wrong.');
  if (join.off_m !== null && Math.abs(join.off_m) >= SHOWN_M) {
    lines.push(
      `The length expected is ${placeText(Math.abs(join.off_m))} m ${join.off_m > 0 ? 'longer' : 'shorter'}.`
    );
  }
  if (join.apart_m >= SHOWN_M) lines.push(`What the join rests on differs by ${placeText(join.apart_m)} m.`);
  for (const [from, to] of join.between)
    lines.push(`Not surveyed: from ${placeText(from)} m to ${placeText(to)} m.`);
  if (join.twice_m >= SHOWN_M) lines.push(`Surveyed by more than one run: ${placeText(join.twice_m)} m.`);
  if (perhaps) lines.push(perhapsLine(perhaps));
  return lines;
}

/** @param {number} count @returns {string} */
export function perhapsLine(count) {
  if (count === 1)
    return '1 defect may have been recorded in two runs and counted twice. Mark it as the same if it is.';
  return `${count} defects may have been recorded in two runs and counted twice. Mark those that are the same.`;
}

/**
 * @param {{sight: string, record_ids: string[]}} part
 * @param {Array<[number, number]>} between
 * @param {number} fromM
 * @param {number} toM
 * @param {boolean} disputed
 * @returns {string}
 */
export function unseenWhy(part, between, fromM, toM, disputed) {
  if (part.sight !== 'hidden' || part.record_ids.length) return '';
  const middle = (fromM + toM) / 2;
  if (between.some(([a, b]) => a <= middle && middle <= b)) return 'not surveyed';
  return disputed
    ? 'where the run ended is in dispute'
    : 'nothing recorded shows that the camera looked at the wall';
}
