/** What the phone can say of a run with no signal: chainages, levels so far, findings. Computed, never stored. */
import { chainageM, scaleFromTape } from '../survey/counter.js';
import { inclinationDeg } from '../survey/gradient.js';
import { integrate } from '../survey/profile.js';
import { runFindings, sentence } from '../survey/findings.js';
import { t } from '../text/en.js';

/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {{record_id: string, code: string, words: string}} Said */

/** @param {any} view @param {string} runId @param {string} kind @returns {SurveyRecord[]} */
export function ofRun(view, runId, kind) {
  return view.records(kind).filter((/** @type {SurveyRecord} */ one) => one.fields.run_id === runId);
}

/** The instrument checks that hold for a run: its own, else the job's; the latest counts.
 * @param {any} view @param {string} runId */
export function instruments(view, runId) {
  /** @param {string} type */
  const last = (type) => {
    const all = view.records('check').filter((/** @type {SurveyRecord} */ one) => one.fields.check_type === type);
    const own = all.filter((/** @type {SurveyRecord} */ one) => one.fields.run_id === runId);
    const general = all.filter((/** @type {SurveyRecord} */ one) => !one.fields.run_id);
    return (own.at(-1) ?? general.at(-1))?.fields ?? null;
  };
  const tape = last('counter_tape');
  // Half a check is no check.
  const scale = tape ? safely(() => scaleFromTape(tape.counter_from_m, tape.counter_to_m, tape.taped_length_m), null) : null;
  return {
    scale: scale ?? 1, scaleChecked: scale !== null,
    limitDeg: last('inclinometer_limit')?.limit_deg ?? null,
    cableM: last('cable_length')?.cable_length_m ?? null,
  };
}

/** As the pack does: without a check, the limit is taken to be the largest inclination that was read. */
const LIMIT_UNKNOWN_DEG = 1e-6;

/** @param {number | null} checkedDeg @param {Array<{deg: number | null}>} points @returns {number} */
export function limitOf(checkedDeg, points) {
  if (checkedDeg !== null) return checkedDeg;
  return Math.max(0, ...points.map((one) => Math.abs(one.deg ?? 0))) || LIMIT_UNKNOWN_DEG;
}

/** @param {any} app @param {any} view @param {SurveyRecord} run */
export function runSurvey(app, view, run) {
  const tools = instruments(view, run.id);
  const readings = ofRun(view, run.id, 'reading');
  const observations = ofRun(view, run.id, 'observation');
  const zeroM = run.fields.counter_zero_m ?? 0;
  const placeOf = (/** @type {number} */ counterM) => chainageM(counterM, zeroM, tools.scale);
  const points = readings
    .filter((one) => typeof one.fields.counter_m === 'number' && one.fields.inclination)
    .map((one) => ({ id: one.id, chainage_m: placeOf(one.fields.counter_m), ...angle(one.fields.inclination), value: one.fields.inclination }))
    .sort((a, b) => a.chainage_m - b.chainage_m);
  const limitDeg = limitOf(tools.limitDeg, points);
  const endM = typeof run.fields.end_counter_m === 'number' ? placeOf(run.fields.end_counter_m) : null;
  const stations = safely(() => integrate(points, 0, limitDeg, 0, endM), []);
  const counters = [...readings, ...observations].map((one) => one.fields.counter_m).filter((m) => typeof m === 'number');
  const rows = app.tables.observation_codes.rows;
  const findings = safely(() => runFindings(run.fields, readings, observations, rows, tools.cableM, limitDeg), []);
  return {
    readings, observations, points, stations, tools, limitDeg, placeOf, zeroM,
    limitAssumed: tools.limitDeg === null,
    surveyedM: endM ?? (counters.length ? Math.max(...counters.map(placeOf)) : null),
    findings: findings.map((/** @type {any} */ one) => ({ record_id: one.record_id, code: one.code, words: inWords(app, one) })),
  };
}

/** @param {any} inclination @returns {{deg: number | null, over: number}} */
function angle(inclination) {
  if (inclination.over_range) return { deg: null, over: inclination.sense === 'rising' ? 1 : -1 };
  return { deg: safely(() => inclinationDeg(inclination), 0), over: 0 };
}

/** @param {any} app @param {any} finding @returns {string} */
export function inWords(app, finding) {
  try {
    return sentence(app.tables.findings.rows, finding);
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
