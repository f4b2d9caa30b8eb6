/**
 * Numbers in the cells of a table: decimal mark and thousands. Twin of
 * webapp/survey/readings_file/csv_numbers.py.
 */
import { SurveyError } from '../errors.js';

/**
 * @typedef {{comma: number, point: number, comma_groups: number, point_groups: number, comma_either: number,
 *   point_either: number}} CsvMarks
 */

export const MAX_CHARACTERS = 60; // of a cell that can be a number
const SPACES = /[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]/g;
export const NUMERIC = /^[<>+~-]{0,2} ?[0-9.,][0-9.,:/' -]* ?[^0-9 ]{0,7}$/u;
const ONE_NUMBER = /^[<>+\-~=()a-z ]{0,14}(?:1 ?(?:in|:|\/) ?)?([0-9.,]+)[^0-9.,]{0,14}$/u;
const ESCAPED = { ',': ',', '.': '\\.', ' ': ' ', "'": "'", '’': '’' };
/** @type {Object<string, RegExp>} */
const WHOLE = {};
/** @type {Object<string, RegExp>} */
const WITHIN = {};
for (const [mark, sign] of Object.entries(ESCAPED)) {
  const row = `[1-9][0-9]{0,2}(?:${sign}[0-9]{3})+`;
  WHOLE[mark] = new RegExp(`^${row}$`);
  WITHIN[mark] = new RegExp(`(?<![0-9.,])${row}(?![0-9])`, 'g');
}
/** @type {Object<string, string>} */
export const OTHER = { ',': '.', '.': ',' };
/** @type {Object<string, 'comma' | 'point'>} */
const NAMES = { ',': 'comma', '.': 'point' };

/** @param {string} text @returns {boolean} whether it is too long to be a number, in whole characters */
export function isLong(text) {
  return text.length > MAX_CHARACTERS && [...text].length > MAX_CHARACTERS;
}

/** @param {string} cell @returns {string} */
export function plainCell(cell) {
  let text = cell.replace(SPACES, ' ').toLowerCase().replaceAll('−', '-');
  for (const mark of [' ', "'", '’']) text = ungrouped(text, mark);
  return text;
}

/** @param {string} text @param {string} mark @returns {string} */
function ungrouped(text, mark) {
  if (!text.includes(mark) || isLong(text)) return text;
  return text.replace(WITHIN[mark], (found) => found.replaceAll(mark, ''));
}

/** @param {Iterable<string>} cells @returns {CsvMarks} */
export function countMarks(cells) {
  /** @type {CsvMarks} */
  const found = { comma: 0, point: 0, comma_groups: 0, point_groups: 0, comma_either: 0, point_either: 0 };
  for (const cell of cells) {
    if ((!cell.includes(',') && !cell.includes('.')) || isLong(cell)) continue;
    const one = ONE_NUMBER.exec(plainCell(cell));
    for (const name of one ? shownBy(one[1]) : []) found[name] += 1;
  }
  return found;
}

/** What one number says of its marks. @param {string} number @returns {Array<keyof CsvMarks>} */
function shownBy(number) {
  const commas = number.split(',').length - 1;
  const points = number.split('.').length - 1;
  if (commas > 0 && points > 0) {
    const last = number.lastIndexOf(',') > number.lastIndexOf('.') ? ',' : '.';
    const head = number.slice(0, number.lastIndexOf(last));
    const once = (last === ',' ? commas : points) === 1;
    return once && WHOLE[OTHER[last]].test(head) ? [NAMES[last], `${NAMES[OTHER[last]]}_groups`] : [];
  }
  if (commas === 0 && points === 0) return [];
  const mark = commas > 0 ? ',' : '.';
  const grouped = WHOLE[mark].test(number);
  if (commas + points > 1) return grouped ? [NAMES[OTHER[mark]], `${NAMES[mark]}_groups`] : [];
  return [grouped ? `${NAMES[mark]}_either` : NAMES[mark]];
}

/** @param {CsvMarks} chosen @param {CsvMarks} allOver @param {string} separator @returns {string | null} */
export function findDecimal(chosen, allOver, separator) {
  if (chosen.comma !== chosen.point) return chosen.comma > chosen.point ? ',' : '.';
  /** @type {Object<string, number>} */
  const either = { ',': chosen.comma_either, '.': chosen.point_either };
  if (chosen.comma > 0 || (either[','] > 0 && either['.'] > 0)) return null;
  for (const mark of [',', '.']) {
    if (allOver[NAMES[mark]] > 0 && allOver[NAMES[OTHER[mark]]] === 0)
      return either[OTHER[mark]] > 0 ? null : mark;
  }
  // commas part the cells, so points part no thousands
  if (separator === ',' && either[','] === 0) return '.';
  return either[','] > 0 || either['.'] > 0 ? null : '.';
}

/** @param {string} decimal @param {CsvMarks} chosen @param {boolean} stated @returns {string} */
export function groupingOf(decimal, chosen, stated) {
  const other = NAMES[OTHER[decimal]];
  return chosen[`${other}_groups`] > 0 || (stated && chosen[other] === 0) ? OTHER[decimal] : '';
}

/** @param {string} cell @param {string} decimal @param {string} grouping @returns {string} */
export function plainNumber(cell, decimal, grouping) {
  let text = plainCell(cell);
  if (grouping) text = ungrouped(text, grouping);
  if ((decimal === ',' ? /[0-9]\.[0-9]/ : /[0-9],[0-9]/).test(text))
    throw new SurveyError('csv_decimal', 'cell');
  return text;
}
