/**
 * What a field may hold, in the server's own sentences, so that nothing is set aside that could be said here.
 */
import { general, parseNumber } from '../../ui/format.js';

/** @typedef {import('../../ui/types.js').Field} Field */

// The characters that the server refuses: controls other than tab and line ends, and halves of surrogate
// pairs.
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]|\p{Surrogate}/u;

/** @param {Field} field @param {string} text @returns {{value: number | null, error?: string}} */
export function readNumber(field, text) {
  if (text.trim() === '') return { value: null };
  const value = parseNumber(text.replace(/\s*m$/i, ''));
  const tail = field.unit ? ` in ${field.unit}` : '';
  if (value === null) return { value: null, error: `${field.label} must be a number${tail}.` };
  if (field.whole && !Number.isInteger(value))
    return { value: null, error: `${field.label} must be a whole number${tail}.` };
  const error = rangeFault(field, value);
  return error ? { value: null, error } : { value };
}

/** @param {Field} field @param {number} value @returns {string | undefined} */
export function rangeFault(field, value) {
  const { minimum = -Infinity, maximum = Infinity } = field;
  if (value >= minimum && value <= maximum) return undefined;
  const unit = field.unit ? ` ${field.unit}` : '';
  return `${field.label} must lie between ${general(minimum)} and ${general(maximum)}${unit}.`;
}

/** @param {Field} field @param {string} text @returns {{value: string | null, error?: string}} */
export function readText(field, text) {
  const value = text.replace(/\r\n?/g, '\n').trim();
  if (value === '') return { value: null };
  if ([...value].length > (field.longest ?? Infinity)) {
    return { value: null, error: `${field.label} can be at most ${field.longest} characters long.` };
  }
  if (CONTROL.test(value))
    return { value: null, error: `${field.label} holds characters that cannot be printed. Type it again.` };
  if (field.pattern && !new RegExp(`^(?:${field.pattern})$`).test(value))
    return { value: null, error: field.sentence };
  return { value };
}

/** @param {Field} field @returns {string} */
export function neededSentence(field) {
  return `${field.label} is needed.`;
}
