/** One open item of a job, and its sentence. Twin of webapp/survey/review/leave_item.py. */
import { fixedText } from '../wording/quantities.js';
import { SurveyError } from '../errors.js';
import { message, sentences } from '../wording/messages.js';

/** @typedef {Object<string, any>} ItemValues   lengths [m], counts and words by the name in the sentence */
/**
 * @typedef {{code: string, run_id: string | null, kind: string, record_id: string | null, field: string |
 *   null, values: ItemValues, counted_on?: boolean}} OpenItem
 */
/** @typedef {import('../../records/tables.js').LeaveItem} LeaveItem */
/** @typedef {OpenItem & {severity: LeaveItem['severity']}} RankedItem */
/**
 * What the checks read of the data tables: a table whole, or its rows.
 * @typedef {{leave_site: DataTables['leave_site'], codes: DataTables['observation_codes']['rows'], safety:
 *   DataTables['safety_sheet']['rows'], visibility: DataTables['visibility'], hazards:
 *   DataTables['hazards']['rows']}} LeaveTables
 */
/** @typedef {import('../../records/tables.js').Tables} DataTables */
/**
 * What the checks go by: the limits of the table, one of which the job may set.
 * @typedef {DataTables['leave_site']['codes'] & {photo_codes: string[], longest_gap_m: number,
 *   longest_gap_known: 'assumed' | 'set', least_length_m: number, photo:
 *   Record<import('../../records/tables.js').LimitName, number>}} LeaveRules
 */

const PLACES = ['from_m', 'to_m', 'tie_m', 'counter_m'];

/**
 * @param {string} code @param {string | null} runId @param {string} kind @param {string | null} recordId
 * @param {string | null} field @param {ItemValues} values @returns {OpenItem}
 */
export function openItem(code, runId, kind, recordId, field, values) {
  return { code, run_id: runId, kind, record_id: recordId, field, values: { ...values } };
}

/** @param {LeaveItem[]} rows @param {string} code @returns {LeaveItem} */
export function itemRow(rows, code) {
  const row = rows.find((one) => one.code === code);
  if (!row) throw new SurveyError('finding_unknown', 'code');
  return row;
}

/**
 * @param {import('../wording/messages.js').Words} words
 * @param {LeaveItem[]} rows
 * @param {{code: string, values: ItemValues, counted_on?: boolean}} item
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
    ? sentences(words, [text, message(words, 'survey.item.counted_on')])
    : text;
}
