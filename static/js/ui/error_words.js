/** What a failure says to a person, in the language of the page. */
import { t, words } from '../text/words.js';
import { sentences } from './format.js';

/**
 * By its code, or in the words that came with it: the server's own, or the browser's.
 * @param {string} code
 * @param {string} [message] of the failure; where it begins with the code nobody has put it into words
 * @returns {string}
 */
export function faultWords(code, message = '') {
  const own = code && message.startsWith(code) ? message.slice(code.length).trim() : null;
  if (message && own === null) return message;
  return sentences([
    `fault.${code}` in words
      ? t(/** @type {import('../text/words.js').MessageKey} */ (`fault.${code}`))
      : t('status.refused', { code }),
    own
  ]);
}

/** What the browser said, behind the code of a failure. @param {unknown} error @returns {string} */
export function detailOf(error) {
  const { code = '', message = '' } = /** @type {{code?: string, message?: string}} */ (error ?? {});
  return message.startsWith(code) ? message.slice(code.length).trim() : message;
}

/** @param {unknown} error @returns {string} */
export function errorWords(error) {
  if (!(error instanceof Error)) return String(error);
  const { code } = /** @type {{code?: unknown}} */ (error);
  return typeof code === 'string' ? faultWords(code, error.message) : error.message;
}
