/** One open item of a job, and its sentence. Twin of webapp/survey/review/leave_item.py. */
import { fixedText } from '../wording/quantities.js';
import { SurveyError } from '../errors.js';
import { message } from '../wording/messages.js';

/**
 * @typedef {{code: string, run_id: string | null, kind: string, record_id: string | null, field: string |
 *   null, values: Object<string, any>}} OpenItem
 */
/** @typedef {Object<string, any>} Row */

const PLACES = ['from_m', 'to_m', 'tie_m', 'counter_m'];

/**
 * @param {string} code @param {string | null} runId @param {string} kind @param {string | null} recordId
 * @param {string | null} field @param {Object<string, any>} values @returns {OpenItem}
 */
export function openItem(code, runId, kind, recordId, field, values) {
  return { code, run_id: runId, kind, record_id: recordId, field, values: { ...values } };
}

/** @param {Row[]} rows @param {string} code @returns {Row} */
export function itemRow(rows, code) {
  const row = rows.find((one) => one.code === code);
  if (!row) throw new SurveyError('finding_unknown', 'code');
  return row;
}

/**
 * @param {import('../wording/messages.js').Words} words
 * @param {Row[]} rows
 * @param {{code: string, values: Object<string, any>, counted_on?: boolean}} item
 * @returns {string}
 */
export function itemSentence(words, rows, item) {
  let text = String(itemRow(rows, item.code).sentence);
  for (const [name, value] of Object.entries(item.values)) {
    const known = name.endsWith('_known') ? message(words, `survey.known.${value}`, {}) : String(value);
    const shown = name.endsWith('_m') ? fixedText(words, value, 2) : known;
    text = text.replaceAll(`{${name}}`, () => shown);
  }
  return item.counted_on && PLACES.some((name) => name in item.values)
    ? `${text} ${message(words, 'survey.item.counted_on', {})}`
    : text;
}
