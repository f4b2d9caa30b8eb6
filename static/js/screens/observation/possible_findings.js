/** What would be odd about a record if it were saved as it stands on the form. */
import { findingsOf } from '../../figures/findings.js';
import { runSource } from '../../figures/run_records.js';
import { recordsOf } from '../parts/figures_of.js';
import { inWords, ofRun } from '../parts/run_survey.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').ReadingFields} ReadingFields */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/** Said while typing only of what has been typed. */
const NOT_YET = new Set([
  'reading_incomplete',
  'characterisation_missing',
  'clock_missing',
  'continuous_not_finished',
  'quantification_missing',
  'remark_missing',
  'clock_from_missing'
]);

/**
 * @param {App} app
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {'reading' | 'observation'} kind
 * @param {string} id
 * @param {ReadingFields & ObservationFields} fields
 * @returns {string[]}
 */
export function possibleFindings(app, view, run, kind, id, fields) {
  return foundIf(app, view, run, kind, id, fields).map((one) => one.words);
}

/**
 * The same with the code of each.
 * @param {App} app
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {'reading' | 'observation'} kind
 * @param {string} id
 * @param {ReadingFields & ObservationFields} fields
 * @returns {Array<{code: string, words: string}>}
 */
export function foundIf(app, view, run, kind, id, fields) {
  const typed = { id, kind, fields, conflicts: {}, standing: {}, removed: false };
  const all = ofRun(view, run.id, kind);
  const mine = all.some((one) => one.id === id)
    ? all.map((one) => (one.id === id ? typed : one))
    : [...all, typed];
  try {
    const records = { ...recordsOf(view, run.id), [`${kind}s`]: mine };
    const source = runSource(run, records, (_, __, work) => work());
    return findingsOf(source, app.tables.observation_codes.rows)
      .filter((one) => one.record_id === id && !NOT_YET.has(one.code))
      .map((one) => ({ code: one.code, words: inWords(app, one) }));
  } catch (error) {
    console.warn(error);
    return [];
  }
}
