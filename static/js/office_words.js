/** The sentences of the office pages' scripts, which the page brings along. */
import { message } from './survey/wording/messages.js';

/** @type {import('./survey/wording/messages.js').Words} */
const words = JSON.parse(document.body.dataset.messages ?? '{}');

/** @param {string} key @param {Object<string, string | number>} [values] put in place of {name} @returns {string} */
export function t(key, values = {}) {
  return message(words, key, values);
}
