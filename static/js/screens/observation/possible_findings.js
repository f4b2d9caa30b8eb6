/** What would be odd about a record if it were saved as it stands on the form. */
import { asIfNeverReset } from '../../survey/instruments/counter_resets.js';
import { runFindings } from '../../survey/review/plausibility.js';
import { toolsOf } from '../parts/figures_of.js';
import { checkedLimit, inWords, ofRun } from '../parts/run_survey.js';

/** @typedef {import('../../ui/types.js').App} App */
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
 * @param {Object<string, any>} fields
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
 * @param {Object<string, any>} fields
 * @returns {Array<{code: string, words: string}>}
 */
export function foundIf(app, view, run, kind, id, fields) {
  const instruments = toolsOf(view, run.id);
  const put = (/** @type {'reading' | 'observation'} */ of) => {
    const all = ofRun(view, run.id, of);
    if (of !== kind) return all;
    const mine = { id, kind, fields, conflicts: {}, standing: {}, removed: false };
    return all.some((one) => one.id === id) ? all.map((one) => (one.id === id ? mine : one)) : [...all, mine];
  };
  const rows = app.tables.observation_codes.rows;
  try {
    const [whole, { reading, observation }] = asIfNeverReset(run.fields, {
      reading: put('reading'),
      observation: put('observation')
    });
    return runFindings(
      whole,
      reading,
      observation,
      rows,
      instruments.cable_length_m,
      checkedLimit(instruments)
    )
      .filter((one) => one.record_id === id && !NOT_YET.has(one.code))
      .map((one) => ({ code: one.code, words: inWords(app, one) }));
  } catch (error) {
    console.warn(error);
    return [];
  }
}
