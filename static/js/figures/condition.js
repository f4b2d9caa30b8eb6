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
 * @param {import('../survey/flow/whole_run.js').RunCapacity | null} capacity
 * @param {import('../records/tables.js').Tables} tables
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
  const { end_counter_m: endCounterM } = extent;
  const { scale } = instruments;
  const facts = {
    run,
    stretches,
    observations,
    items,
    capacityRows: capacity?.rows ?? [],
    endCounterM,
    scale
  };
  return withUnseen(runGrading(facts, codes.rows, scheme), account, scale);
}

/**
 * @param {RunSource} source
 * @param {Grading} grading
 * @param {import('../survey/grading/hazards.js').Hazard[]} dangers
 * @param {import('../survey/grading/actions.js').LevelFacts} levels from `levelFacts`
 * @param {import('../records/tables.js').Tables} tables
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
 * @param {import('../records/types.js').RunFields} run
 * @param {import('../survey/levels/run_model.js').RunModel} model
 * @param {import('../survey/levels/levels.js').LevelProfile | null} profile
 * @param {{radius_m: number} | null} end
 * @param {{now_sd_m: number | null, sd_m: number, both_ends: boolean} | null} farTie
 * @returns {import('../survey/grading/actions.js').LevelFacts}
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
