/**
 * The condition of a run, what to do next, and what of its levels a visit to the far end would settle. Twin
 * of webapp/figures/condition.py.
 */
import { suggestedActions } from '../survey/grading/actions.js';
import { withProhibitions } from '../survey/grading/prohibitions.js';
import { runGrading } from '../survey/grading/run_grading.js';
import { withUnseen } from '../survey/coding/visibility.js';

/** @typedef {import('./run_records.js').RunSource} RunSource */
/** @typedef {import('../survey/grading/run_grading.js').Grading} Grading */

const TIED = ['adjusted', 'measured'];

/**
 * @param {RunSource} source
 * @param {import('./capacity.js').Sight} sight
 * @param {{rows: any[]} | null} capacity
 * @param {Object<string, any>} tables
 */
export function gradingOf(source, [items, account], capacity, tables) {
  const {
    run,
    stretches,
    records: { observations },
    extent,
    instruments
  } = source;
  const { observation_codes: codes, grading_limits: scheme } = tables;
  const found = runGrading(
    run,
    stretches,
    observations,
    items,
    codes.rows,
    capacity?.rows ?? [],
    scheme,
    extent.end_counter_m,
    instruments.scale
  );
  return withUnseen(found, account, instruments.scale);
}

/**
 * @param {RunSource} source
 * @param {Grading} grading
 * @param {any[]} dangers
 * @param {any} levels from `levelFacts`
 * @param {Object<string, any>} tables
 */
export function suggestedOf(source, grading, dangers, levels, tables) {
  const { scale } = source.instruments;
  const plan = suggestedActions(grading, levels, tables.actions, scale);
  return withProhibitions(
    plan,
    dangers,
    tables.hazards.rows,
    tables.actions,
    source.run.counter_zero_m || 0,
    scale
  );
}

/**
 * @param {Object<string, any>} run
 * @param {import('../survey/levels/run_model.js').RunModel} model
 * @param {import('../survey/levels/levels.js').LevelProfile | null} profile
 * @param {{radius_m: number} | null} end
 * @param {{now_sd_m: number | null, sd_m: number, both_ends: boolean} | null} farTie
 */
export function levelFacts(run, model, profile, end, farTie) {
  const reached = run.end_reason === 'node_reached'; // then somebody stood there
  const facts = { radius_m: end && !reached ? end.radius_m : null };
  const last = profile?.stations[profile.stations.length - 1];
  if (!profile || !last || !farTie || TIED.includes(last.known)) return facts;
  return {
    ...facts,
    far_m: last.chainage_m,
    now_sd_m: farTie.now_sd_m,
    then_sd_m: farTie.sd_m,
    both_ends: farTie.both_ends,
    gaps_m: profile.gaps
      .filter((gap) => gap.status !== 'solved')
      .map((gap) => model.readings[gap.reading].chainage_m)
  };
}
