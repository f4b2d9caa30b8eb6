/**
 * A sentence filled from its template: one catalogue a language. Twin of webapp/survey/wording/messages.py.
 */
import { SurveyError } from '../errors.js';
import { MINUS } from '../numbers/decimals.js';

/**
 * @typedef {string | Object<string, string>} Template   templates by plural category where a count chooses
 */
/** @typedef {Object<string, Template>} Words   the catalogue: `_language`, `_locale` and a template by key */
/** @typedef {Object<string, string | number>} Values   text or whole numbers by name */

const PLACE = /\{([a-z][a-z0-9_]*)(?::(lower|inline))?\}/g;
const COUNT = 'n';
/** @type {Object<string, Intl.PluralRules>} by language */
const PLURALS = {};
/** @type {Object<string, Intl.NumberFormat>} by locale */
const NUMBERS = {};

/** @param {Words} words @param {string} key @param {Values} [values] @returns {string} */
export function message(words, key, values = {}) {
  const found = Object.hasOwn(words, key) ? words[key] : undefined;
  const template =
    found && typeof found === 'object' ? (found[category(words, values)] ?? found.other) : found;
  if (typeof template !== 'string' || key.startsWith('_')) throw new SurveyError('message_unknown', key);
  return template.replace(PLACE, (_, name, how) => {
    const text = valueText(words, values, name);
    return how === 'inline'
      ? text.slice(0, 1).toLowerCase() + text.slice(1)
      : how
        ? text.toLowerCase()
        : text;
  });
}

/** A list in one line: a, b, c. @param {Words} words @param {string[]} items @returns {string} */
export function listed(words, items) {
  return joined(words, 'comma', items);
}

/** Clauses in one line: a; b; c. @param {Words} words @param {string[]} items @returns {string} */
export function clauses(words, items) {
  return joined(words, 'semicolon', items);
}

/** Whole sentences one after the other. @param {Words} words @param {string[]} items @returns {string} */
export function sentences(words, items) {
  return joined(words, 'sentence', items.filter(Boolean));
}

/** Facts in one line: a · b · c. @param {Words} words @param {string[]} items @returns {string} */
export function apart(words, items) {
  return joined(words, 'apart', items.filter(Boolean));
}

/** The members of a choice: a or b or c. @param {Words} words @param {string[]} items @returns {string} */
export function choice(words, items) {
  return joined(words, 'or', items);
}

/** @param {Words} words @param {string} sign @param {string[]} items @returns {string} */
function joined(words, sign, items) {
  return items.length
    ? items.reduce((first, next) => message(words, `survey.list.${sign}`, { first, next }))
    : '';
}

/** @param {Words} words @param {string} text @returns {string} */
export function numberText(words, text) {
  return text.replaceAll('-', MINUS).replaceAll('.', decimalMark(words));
}

/** @param {Words} words @param {Values} values @param {string} name @returns {string} */
function valueText(words, values, name) {
  const value = valueFor(values, name);
  if (typeof value === 'string') return value;
  return name === COUNT ? numberFormat(words).format(countOf(value)) : String(whole(value, name));
}

/** @param {Values} values @param {string} name @returns {string | number} */
function valueFor(values, name) {
  const value = Object.hasOwn(values, name) ? values[name] : null;
  if (value === null || value === undefined) throw new SurveyError('message_value_missing', name);
  return value;
}

/** @param {unknown} value @param {string} name @returns {number} */
function whole(value, name) {
  if (!Number.isSafeInteger(value)) throw new SurveyError('message_value_type', name);
  return Number(value) || 0; // never minus zero
}

/** @param {unknown} value @returns {number} */
function countOf(value) {
  const count = whole(value, COUNT);
  if (count < 0) throw new SurveyError('message_value_type', COUNT);
  return count;
}

/** @param {Words} words @param {Values} values @returns {string} */
function category(words, values) {
  const language = String(words._language);
  PLURALS[language] ??= new Intl.PluralRules(language);
  return PLURALS[language].select(countOf(valueFor(values, COUNT)));
}

/** @param {Words} words @returns {Intl.NumberFormat} */
function numberFormat(words) {
  const locale = String(words._locale ?? words._language);
  NUMBERS[locale] ??= new Intl.NumberFormat(locale, { useGrouping: 'always', numberingSystem: 'latn' });
  return NUMBERS[locale];
}

/** @param {Words} words @returns {string} */
function decimalMark(words) {
  return (
    numberFormat(words)
      .formatToParts(0.5)
      .find((one) => one.type === 'decimal')?.value ?? '.'
  );
}
