/** What an observation says of a turn of the pipe. Twin of webapp/survey/plan/turns.py. */
import { findCode } from '../coding/codes.js';

/** @typedef {import('../../records/tables.js').ObservationCode} CodeRow */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('../coding/codes.js').LetterField} LetterField */

export const BEND = 'BCC';
/** @type {Object<string, number>} */
const SIDES = { right: 1, left: -1 };

/**
 * Is it a joint at an angle, so that it is asked which way it turns?
 * @param {CodeRow | null} row
 * @param {Fields} fields
 * @returns {boolean}
 */
export function turnsAJoint(row, fields) {
  return Boolean(row) && (row?.direction_with ?? []).includes(fields.characterisation_1 ?? '');
}

/**
 * What an observation of a bend or of a joint at an angle does not say of the turn.
 * @param {CodeRow[]} rows
 * @param {Fields} fields
 * @returns {string[]}
 */
export function turnLacks(rows, fields) {
  const row = findCode(rows, fields.code || '');
  /** @type {string[]} */
  const lacks = [];
  if (turnsAJoint(row, fields)) {
    if (!fields.turns_to) lacks.push('turns_to');
  } else if (row?.code === BEND) {
    if (!fields.characterisation_1 && !onlyVertical(row, fields)) lacks.push('characterisation_1');
  } else return [];
  if ((fields.quantification_1 ?? null) === null) lacks.push('quantification_1');
  return lacks;
}

/** @param {CodeRow} row @param {Fields} fields @returns {boolean} */
export function onlyVertical(row, fields) {
  return !fields.characterisation_1 && isAChoice(row, 'characterisation_2', fields.characterisation_2);
}

/**
 * @param {CodeRow} row @param {LetterField} field @param {string | null | undefined} value
 * @returns {boolean}
 */
export function isAChoice(row, field, value) {
  return row[field].some((choice) => choice.value === value);
}

/**
 * Where a bend turns to by its first characterisation: 1 right, -1 left, null not known.
 * @param {CodeRow} row
 * @param {string | null | undefined} value
 * @returns {number | null}
 */
export function sideOf(row, value) {
  const choice = row.characterisation_1.find((one) => one.value === value);
  return SIDES[choice?.side ?? ''] ?? null;
}
