/** What an observation says of a turn of the pipe. Twin of webapp/survey/plan/turns.py. */
import { findCode } from '../coding/codes.js';

/** @typedef {Object<string, any>} Fields */

export const BEND = 'BCC';

/**
 * Is it a joint at an angle, so that it is asked which way it turns?
 * @param {Fields | null} row
 * @param {Fields} fields
 * @returns {boolean}
 */
export function turnsAJoint(row, fields) {
  return Boolean(row) && (row?.direction_with ?? []).includes(fields.characterisation_1 ?? null);
}

/**
 * What an observation of a bend or of a joint at an angle does not say of the turn.
 * @param {import('../../records/tables.js').ObservationCode[]} rows
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

/** @param {Fields} row @param {Fields} fields @returns {boolean} */
export function onlyVertical(row, fields) {
  return (
    !fields.characterisation_1 && Boolean(choiceLabel(row, 'characterisation_2', fields.characterisation_2))
  );
}

/** @param {Fields} row @param {string} field @param {any} value @returns {string} */
export function choiceLabel(row, field, value) {
  const choice = row[field].find((/** @type {Fields} */ c) => c.value === value);
  return choice ? String(choice.label).toLowerCase() : '';
}
