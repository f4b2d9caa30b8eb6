/**
 * What a field may hold, in the server's own sentences, so that nothing is set aside that could be said here.
 */
import { general, parseNumber } from '../../ui/format.js';
import { t, words } from '../../text/words.js';
import { numberText } from '../../survey/wording/messages.js';

/** @typedef {import('../../ui/types.js').Field} Field */

// The characters that the server refuses: controls other than tab and line ends, and halves of surrogate
// pairs.
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]|\p{Surrogate}/u;

/** @param {Field} field @param {string} text @returns {{value: number | null, error?: string}} */
export function readNumber(field, text) {
  if (text.trim() === '') return { value: null };
  const value = parseNumber(text.replace(/\s*m$/i, ''));
  const { label, unit } = field;
  if (value === null)
    return {
      value: null,
      error: unit ? t('input.number_in', { label, unit }) : t('input.number', { label })
    };
  if (field.whole && !Number.isInteger(value))
    return { value: null, error: unit ? t('input.whole_in', { label, unit }) : t('input.whole', { label }) };
  const error = rangeFault(field, value);
  return error ? { value: null, error } : { value };
}

/** @param {Field} field @param {number} value @returns {string | undefined} */
export function rangeFault(field, value) {
  const { label, unit, minimum = -Infinity, maximum = Infinity } = field;
  if (value >= minimum && value <= maximum) return undefined;
  const range = {
    label,
    low: numberText(words, general(minimum)),
    high: numberText(words, general(maximum))
  };
  return unit ? t('input.range_in', { ...range, unit }) : t('input.range', range);
}

/** @param {Field} field @param {string} text @returns {{value: string | null, error?: string}} */
export function readText(field, text) {
  const value = text.replace(/\r\n?/g, '\n').trim();
  if (value === '') return { value: null };
  if ([...value].length > (field.longest ?? Infinity)) {
    return { value: null, error: t('input.characters', { label: field.label, max: String(field.longest) }) };
  }
  if (CONTROL.test(value)) return { value: null, error: t('input.unprintable', { label: field.label }) };
  if (field.pattern && !new RegExp(`^(?:${field.pattern})$`).test(value))
    return { value: null, error: field.sentence };
  return { value };
}

/** @param {Field} field @returns {string} */
export function neededSentence(field) {
  return t('form.needed_sentence', { label: field.label });
}
