/**
 * A length surveyed in pieces, as this phone can tell with no signal: its runs put together, then as one run.
 * Never stored.
 */
import { lengthOfRuns } from '../survey/lengths/length_of_runs.js';
import { lengthGroups } from '../survey/lengths/pipe_length.js';
import { figuresOf, once, runFigures } from './run_figures.js';

/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').HeldJob} HeldJob */
/** @template {import('../ui/types.js').Kind} K @typedef {import('../ui/types.js').RecordOf<K>} RecordOf */

const DEFECTS = ['fabric', 'operation'];

/** The runs of the length that a run belongs to, the first run first; none where it is a length by itself.
 * @param {HeldJob} view @param {string} runId @returns {RecordOf<'run'>[]} */
export function runsOfLength(view, runId) {
  const runs = view.records('run');
  const ids =
    once(view, 'lengths', [runs], () => lengthGroups(runs)).find((some) => some.includes(runId)) ?? [];
  return ids.flatMap((id) => view.record('run', id) ?? []);
}

/**
 * What the runs of a length are together.
 * @param {App} app
 * @param {HeldJob} view
 * @param {RecordOf<'run'>[]} runs
 * @returns {WholeLength}
 */
export function wholeLength(app, view, runs) {
  const each = runs.map((run) => runFigures(app, view, run));
  const inputs = [
    view.records('check'),
    ...each.flatMap((one) => [one.run, one.readings, one.observations, one.ties, one.records.stretch])
  ];
  return once(view, `length ${runs[0].id}`, inputs, () => {
    const counted = app.tables.observation_codes.rows
      .filter((/** @type {any} */ row) => DEFECTS.includes(row.group))
      .map((/** @type {any} */ row) => row.code);
    const pieces = each.map((one) => ({
      run_id: one.run.id,
      fields: one.run.fields,
      readings: one.readings,
      level_ties: one.ties,
      stretches: one.records.stretch,
      observations: one.observations
    }));
    return lengthOfRuns(pieces, view.records('check'), app.tables.visibility, counted);
  });
}

/** The figures of a length as those of one run; null where it is not known how its runs join.
 * @param {App} app @param {HeldJob} view @param {RecordOf<'run'>[]} runs @param {WholeLength} whole */
export function lengthFigures(app, view, runs, whole) {
  if (whole.join.length_m === null) return null;
  const [first] = runs;
  const key = `length ${first.id}`;
  const run = once(view, `${key}/run`, [whole], () => ({ ...first, fields: whole.run }));
  const { readings: reading, observations: observation, level_ties: level_tie, stretches: stretch } = whole;
  return figuresOf(app, view, {
    key,
    run,
    records: { reading, observation, level_tie, stretch, remark: [], photo: [] },
    parts: [],
    extent: whole.extent,
    stretches: stretch,
    instruments: whole.pieces[0].instruments,
    whole,
    first: runFigures(app, view, first)
  });
}
