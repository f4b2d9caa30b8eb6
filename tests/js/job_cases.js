/**
 * What the phone says of whole jobs: what is unlikely in each run, what is open before leaving, what the
 * instrument checks come to. Used by tests/figures/test_jobs_parity.py.
 */
import './english.js';
import { JobView } from '../../static/js/store/job_view.js';
import { openInRecords } from '../../static/js/screens/job/leave_state.js';
import { runSurvey } from '../../static/js/screens/parts/run_survey.js';
import { instrumentsOf } from '../../static/js/survey/instruments/instruments.js';
import { itemSentence, verdictText } from '../../static/js/text/survey_words.js';

let tables = {};

/** @param {any} given */
export function useTables(given) {
  tables = given;
}

/** @param {string} jobId @param {any[]} entries in the order of their making */
export function jobCase(jobId, entries) {
  const view = new JobView(jobId);
  for (const entry of entries) view.add(entry);
  const app = { tables };
  const checks = view.records('check');
  return {
    findings: Object.fromEntries(
      view.records('run').map((run) => [run.id, runSurvey(app, view, run).findings.map((one) => one.words)])
    ),
    items: openInRecords(app, view).map((one) => ({
      code: one.code,
      severity: one.severity,
      run_id: one.run_id ?? null,
      record_id: one.record_id ?? null,
      sentence: itemSentence(tables.leave_site.rows, one)
    })),
    verdicts: Object.fromEntries(
      checks.map((one) => [one.id, verdictText(instrumentsOf([one], one.fields.run_id ?? ''))])
    )
  };
}
