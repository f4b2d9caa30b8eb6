/**
 * What a run carries as it is, wider where a pipe is in dispute; of a length, withheld where part of it is
 * not known. Twin of webapp/figures/capacity.py.
 */
import { limitedCapacity } from '../survey/flow/capacity_limits.js';
import { overPipes, pipeVariants } from '../survey/flow/disputed_pipe.js';
import { STOPPED, stoppedCounters, withheldBetween } from '../survey/lengths/length_of_runs.js';
import { runCapacity } from '../survey/flow/run_capacity.js';
import { wholeRunLimits, withWholeRun } from '../survey/flow/whole_run.js';

/** @typedef {import('./run_records.js').RunSource} RunSource */
/** @typedef {import('../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */
/**
 * @typedef {[import('../survey/coding/continuous.js').ContinuousItem[],
 *   import('../survey/coding/visibility.js').Visibility]} Sight what goes on along the run,
 * what could be seen of it
 */

/**
 * @param {RunSource} source
 * @param {Sight} sight
 * @param {[import('../survey/levels/run_model.js').RunModel,
 * import('../survey/levels/levels.js').LevelProfile | null]} levels
 * @param {import('../records/tables.js').Tables} tables
 * @param {WholeLength | null} whole
 * @returns {import('../survey/flow/whole_run.js').RunCapacity}
 */
export function capacityOf(source, [items, account], [model, profile], tables, whole) {
  const {
    run,
    records: { observations, nodes },
    instruments,
    stretches,
    extent: { end_counter_m: endM }
  } = source;
  const {
    roughness: { rows: rough },
    narrowings
  } = tables;
  const made = (/** @type {StretchRecord[]} */ pipes) =>
    limitedCapacity(
      runCapacity(run, pipes, observations, rough, profile, instruments),
      {
        run,
        stretches: pipes,
        observations,
        items,
        visibility: account,
        end_counter_m: endM,
        profile,
        scale: instruments.scale,
        nodes,
        tied: model.ties.length > 0
      },
      rough,
      narrowings
    );
  /** @type {Object<string, import('../survey/flow/capacity_limits.js').LimitedRow[]>} */
  const each = {};
  stretches.forEach((one, k) => {
    const others = pipeVariants(one).slice(1);
    if (others.length)
      each[k] = others.map((may) => made(stretches.map((other, i) => (i === k ? may : other))).rows[k]);
  });
  const limits = wholeRunLimits(run, stretches, observations, endM, narrowings);
  if (Object.keys(each).length) limits.push('pipe_in_dispute');
  const found = withWholeRun(overPipes(made(stretches), each), limits, Boolean(profile?.blunders.length));
  return whole === null ? found : withheldBetween(found, whole.join, isStopped(whole, narrowings));
}

/**
 * Whether what stopped a run still lies in the length, with nothing recorded there that has a size.
 * @param {WholeLength} whole
 * @param {import('../records/tables.js').Narrowings} table
 * @returns {boolean}
 */
export function isStopped(whole, table) {
  return stoppedCounters(whole).some((at) =>
    wholeRunLimits({ end_reason: 'obstruction' }, whole.stretches, whole.observations, at, table).includes(
      STOPPED
    )
  );
}
