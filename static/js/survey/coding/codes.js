/**
 * Observation codes: what an observation of a code may carry, and what it lacks. Twin of
 * webapp/survey/coding/codes.py.
 */

import { quantityFor } from './code_quantities.js';

export { searchCodes } from './code_search.js';

/** @typedef {import('../../records/tables.js').ObservationCode} Row */
/**
 * @typedef {Object<string, string | number | boolean | string[] | null | undefined>} FindingValues   by name
 */
/** @typedef {{code: string, field: string, values: FindingValues}} Finding */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/**
 * An observation whose values may be anything: this is where they are looked at.
 * @typedef {{[N in keyof ObservationFields]?: unknown}} Unchecked
 */
/** @typedef {'characterisation_1' | 'characterisation_2'} LetterField */

/** @param {Row[]} rows @param {string} code @returns {Row | null} */
export function findCode(rows, code) {
  return rows.find((row) => row.code === code) ?? null;
}

/** @param {Row[]} rows @param {Unchecked} observation @returns {Finding[]} */
export function checkObservation(rows, observation) {
  const { code } = observation;
  if (empty(code)) return [];
  const row = typeof code === 'string' ? findCode(rows, code) : null;
  if (row === null) return [finding('code_unknown', 'code', { code: shown(code) })];
  return [
    ...checkCharacterisations(row, observation),
    ...checkQuantity(row, 'quantification_1', observation),
    ...checkQuantity(row, 'quantification_2', observation),
    ...checkClock(row, observation),
    ...checkJoint(row, observation.at_joint),
    ...checkContinuous(row, observation.continuous),
    ...checkRemark(row, observation)
  ];
}

/** @param {Unchecked} observation @returns {string} */
export function compactCode(observation) {
  return /** @type {const} */ (['code', 'characterisation_1', 'characterisation_2'])
    .map((f) => observation[f])
    .filter(Boolean)
    .join(' ');
}

/** @param {string} code @param {string} field @param {FindingValues} values @returns {Finding} */
function finding(code, field, values) {
  return { code, field, values };
}

/** A value as a sentence can show it. @param {unknown} value @returns {string | number} */
function shown(value) {
  return typeof value === 'string' || isNumber(value) ? value : 'something unreadable';
}

/** @param {unknown} value @returns {value is number} */
function isNumber(value) {
  return typeof value === 'number' && Number.isFinite(value);
}

/** @param {unknown} value @returns {value is null | undefined | ''} */
function empty(value) {
  return value === null || value === undefined || value === '';
}

/** @param {unknown} value @returns {value is Object<string, unknown>} */
function isWhole(value) {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** @param {Row} row @param {Unchecked} fields @returns {Finding[]} */
function checkCharacterisations(row, fields) {
  const { code } = row;
  const [one, two] = [fields.characterisation_1, fields.characterisation_2];
  const found = [
    ...knownChoice(row, 'characterisation_1', one),
    ...knownChoice(row, 'characterisation_2', two)
  ];
  if (row.either_characterisation && empty(one) && empty(two)) {
    return [...found, finding('characterisation_either', 'characterisation_1', { code })];
  }
  if (row.characterisation_1_needed && empty(one)) {
    found.unshift(finding('characterisation_missing', 'characterisation_1', { code, label: 'kind_1' }));
  }
  const onlyWith = row.characterisation_2_with;
  const takes = !onlyWith || empty(one) || onlyWith.includes(/** @type {string} */ (one));
  if (!takes && !empty(two)) {
    found.push(finding('characterisation_2_only_with', 'characterisation_2', { code, with: onlyWith }));
  }
  if (row.characterisation_2_needed && takes && empty(two) && !(onlyWith && empty(one))) {
    found.push(
      finding('characterisation_missing', 'characterisation_2', {
        code,
        label: 'kind_2'
      })
    );
  }
  return found;
}

/** @param {Row} row @param {LetterField} field @param {unknown} value @returns {Finding[]} */
function knownChoice(row, field, value) {
  if (empty(value) || row[field].some((one) => one.value === value)) return [];
  return [
    finding('characterisation_unknown', field, {
      code: row.code,
      label: field,
      value: shown(value)
    })
  ];
}

/**
 * @param {Row} row
 * @param {import('./code_quantities.js').SizeField} field
 * @param {Unchecked} fields
 * @returns {Finding[]}
 */
function checkQuantity(row, field, fields) {
  const value = fields[field];
  const { code } = row;
  const quantity = quantityFor(row, field, fields.characterisation_1);
  if (empty(value)) {
    // The finish of something continuous only says where it ends; how much holds before it.
    if (!quantity?.needed || /** @type {ObservationFields} */ (fields).continuous?.role === 'finish')
      return [];
    return [finding('quantification_missing', field, { code, asked: quantity.label, unit: quantity.unit })];
  }
  if (!quantity) return [finding('quantification_not_taken', field, { code, label: field })];
  if (!isNumber(value)) return [finding('quantification_unreadable', field, { code, value: shown(value) })];
  if (quantity.unit === '%' && value > 100) return [finding('quantification_beyond_whole', field, { value })];
  const { unit, least, most } = quantity;
  if (least !== undefined && most !== undefined && !(least <= value && value <= most)) {
    return [finding('quantification_unlikely', field, { code, value, unit, least, most })];
  }
  return [];
}

/** @param {Row} row @param {Unchecked} fields @returns {Finding[]} */
function checkClock(row, fields) {
  const { clock, characterisation_1: kind } = fields;
  const { code, clock_references: allowed } = row;
  if (empty(clock) || clock === false || (typeof clock === 'object' && Object.keys(clock).length === 0)) {
    const needed = row.clock_needed || (row.clock_needed_with ?? []).includes(/** @type {string} */ (kind));
    return allowed && needed ? [finding('clock_missing', 'clock', { code })] : [];
  }
  if (allowed === 0) return [finding('clock_not_taken', 'clock', { code })];
  if (!isWhole(clock)) return [finding('clock_unreadable', 'clock', { value: shown(clock) })];
  /** @type {Finding[]} */
  const found = [];
  const [first, last] = [clock.hour_from ?? null, clock.hour_to ?? null];
  if (first === null) found.push(finding('clock_from_missing', 'clock', { code }));
  for (const hour of [first, last]) {
    if (hour !== null && !(isNumber(hour) && Number.isInteger(hour) && hour >= 1 && hour <= 12)) {
      found.push(finding('clock_hour_unknown', 'clock', { hour: shown(hour) }));
    }
  }
  if (allowed === 1 && last !== null) found.push(finding('clock_too_many', 'clock', { code }));
  return found;
}

/** @param {Row} row @param {unknown} atJoint @returns {Finding[]} */
function checkJoint(row, atJoint) {
  const { code, joint } = row;
  if (atJoint === true && joint === 'n/a') return [finding('joint_not_taken', 'at_joint', { code })];
  if (atJoint === false && joint === 'inherent') return [finding('joint_always', 'at_joint', { code })];
  return [];
}

/** @param {Row} row @param {unknown} continuous @returns {Finding[]} */
function checkContinuous(row, continuous) {
  const { code } = row;
  if (empty(continuous) || continuous === false) return [];
  if (!row.continuous) return [finding('continuous_not_taken', 'continuous', { code })];
  const { role, number } = isWhole(continuous) ? continuous : { role: null, number: null };
  if (!['start', 'change', 'finish'].includes(/** @type {string} */ (role)) || !Number.isInteger(number)) {
    return [finding('continuous_unreadable', 'continuous', { code })];
  }
  return [];
}

/** @param {Row} row @param {Unchecked} fields @returns {Finding[]} */
function checkRemark(row, fields) {
  const { remark } = fields;
  if (typeof remark === 'string' && remark.trim()) return [];
  const letters = /** @type {const} */ (['characterisation_1', 'characterisation_2']);
  const asking = letters.some((f) => row[f].some((one) => one.remark && one.value === fields[f]));
  return row.remark_needed || asking ? [finding('remark_missing', 'remark', { code: row.code })] : [];
}
