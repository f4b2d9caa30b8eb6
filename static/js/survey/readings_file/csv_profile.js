/**
 * What a person said of an instrument's files, kept for its next one. Twin of
 * webapp/survey/readings_file/csv_profile.py.
 */

const NAMES = [
  'counter_column',
  'inclination_column',
  'remark_column',
  'counter_unit',
  'inclination_unit',
  'plus',
  'decimal'
];
const LONGEST = 1000; // characters

/** @param {string[]} header @param {number} headerLine @returns {string} */
export function headerSignature(header, headerLine) {
  if (!headerLine) return '';
  return [...header.map((name) => name.toLowerCase()).join(' | ')].slice(0, LONGEST).join('');
}

/**
 * @param {{choices: Object<string, any>, known: Object<string, string>}} result
 * @returns {Object<string, any>}
 */
export function answersOf({ choices, known: provenance }) {
  /** @type {Object<string, any>} */
  const kept = {};
  for (const name of NAMES) {
    if (!['chosen', 'remembered'].includes(provenance[name])) continue;
    const value = name === 'remark_column' ? (choices[name] ?? -1) : choices[name];
    if ((value ?? null) !== null) kept[name] = value;
  }
  return kept;
}
