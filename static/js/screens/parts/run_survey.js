/**
 * What the phone can say of a run with no signal: its figures, and what is odd about its records. Never
 * stored.
 */
import { findingsOf } from '../../figures/findings.js';
import { sentence } from '../../survey/review/plausibility.js';
import { figuresOf, ofRun } from './figures_of.js';
import { t, words } from '../../text/words.js';

export { ofRun };
/** @typedef {import('../../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/** @param {App} app @param {HeldJob} view @param {RecordOf<'run'>} run */
export function runSurvey(app, view, run) {
  const figures = figuresOf(app, view, run);
  const { readings, observations } = figures.records;
  const rows = app.tables.observation_codes.rows;
  const findings = safely(() => findingsOf(figures.source, rows), []);
  return {
    figures,
    readings,
    observations,
    surveyedM: figures.extent?.surveyed_m ?? null,
    placeOf: figures.placeOf,
    findings: findings.map((one) => ({
      record_id: one.record_id,
      code: one.code,
      words: inWords(app, one)
    }))
  };
}

/**
 * @param {App} app @param {import('../../survey/review/plausibility.js').Finding} finding @returns {string}
 */
export function inWords(app, finding) {
  try {
    return sentence(words, app.tables.findings.rows, finding);
  } catch {
    return t('run.finding_unnamed', { code: finding.code });
  }
}

/** @template T @param {() => T} work @param {T} otherwise @returns {T} */
function safely(work, otherwise) {
  try {
    return work();
  } catch (error) {
    console.warn(error);
    return otherwise;
  }
}
