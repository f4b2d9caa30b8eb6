/**
 * What a person said of an instrument's files, kept for its next one. Twin of
 * webapp/survey/readings_file/csv_profile.py.
 */

/** @typedef {import('../../records/types.js').LengthUnit} LengthUnit */
/** @typedef {import('./csv_choices.js').SlopeUnit} SlopeUnit */
/** @typedef {import('./csv_choices.js').Plus} Plus */

/** @type {Array<keyof CsvAnswers>} */
const NAMES = [
  'counter_column',
  'inclination_column',
  'remark_column',
  'counter_unit',
  'inclination_unit',
  'plus',
  'decimal'
];
const MAX_CHARACTERS = 1000;

/**
 * What a person said of a file that holds for the next one of its kind too; -1: no remark.
 * @typedef {{counter_column?: number, inclination_column?: number, remark_column?: number, counter_unit?:
 *   LengthUnit, inclination_unit?: SlopeUnit, plus?: Plus, decimal?: string}} CsvAnswers
 */

/** @param {string[]} header @param {number} headerLine @returns {string} */
export function headerSignature(header, headerLine) {
  if (!headerLine) return '';
  return [...header.map((name) => name.toLowerCase()).join(' | ')].slice(0, MAX_CHARACTERS).join('');
}

/**
 * @param {{choices: import('./csv_choices.js').CsvUsed, known: Object<string, string>}} result
 * @returns {CsvAnswers}
 */
export function answersOf({ choices, known: provenance }) {
  /** @type {Object<string, string | number | null>} */
  const kept = {};
  for (const name of NAMES) {
    if (!['chosen', 'remembered'].includes(provenance[name])) continue;
    const value = name === 'remark_column' ? (choices[name] ?? -1) : choices[name];
    if ((value ?? null) !== null) kept[name] = value;
  }
  return /** @type {CsvAnswers} */ (kept);
}
