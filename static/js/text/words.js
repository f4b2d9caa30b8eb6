/**
 * What the app says, in the language of the page. The sentences stand in webapp/tables/messages/, one file a
 * language.
 */
import { message, numberText } from '../survey/wording/messages.js';

/** @typedef {import('../survey/wording/messages.js').Words} Words */
/**
 * @typedef {Exclude<keyof typeof import('../../../webapp/tables/messages/en.json'), '_language' |
 *   '_locale'>} MessageKey
 */

/**
 * The catalogue: of the start as soon as the page is there, the whole once the app's data is.
 * @type {Words}
 */
export const words = {};

/**
 * @param {Object<string, string | Object<string, string>>} sections as the server sends them: of each
 *   section what follows the first point of its keys
 */
export function takeWords(sections) {
  for (const [section, some] of Object.entries(sections)) {
    if (section.startsWith('_')) words[section] = some;
    else for (const [name, template] of Object.entries(some)) words[`${section}.${name}`] = template;
  }
}

/**
 * A sentence. One that cannot be filled shows its key: a screen with a hole is better than none.
 * @param {MessageKey} key @param {import('../survey/wording/messages.js').Values} [values] @returns {string}
 */
export function t(key, values) {
  try {
    return message(words, key, values && plain(values));
  } catch (error) {
    console.error(error);
    return key;
  }
}

/**
 * Values as a template takes them. A record may hold anything where it was set aside: that is shown as it is.
 * @param {Object<string, unknown>} values
 * @returns {import('../survey/wording/messages.js').Values}
 */
function plain(values) {
  return Object.fromEntries(Object.entries(values).map(([name, value]) => [name, plainValue(value)]));
}

/** @param {unknown} value @returns {string | number} */
function plainValue(value) {
  if (typeof value === 'string' || (Number.isSafeInteger(value) && Number(value) >= 0)) {
    return /** @type {string | number} */ (value);
  }
  if (typeof value === 'number') return numberText(words, String(value));
  return value === null || value === undefined ? '?' : JSON.stringify(value);
}

/** Whose dates and numbers are written, such as en-GB. @returns {string} */
export function locale() {
  return String(words._locale ?? words._language);
}

/** What the page brings with it. */
function fromPage() {
  const place = globalThis.document?.getElementById('start-words');
  if (place) takeWords(JSON.parse(place.textContent ?? '{}'));
}

fromPage();
