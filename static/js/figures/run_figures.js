/**
 * Every computed figure of a run, or of a length surveyed in pieces, from its records: one composition.
 * Twin of webapp/figures/run_figures.py.
 * A figure is computed when it is first asked for. One that cannot be had is null; where it was refused,
 * `refused` says with which code.
 */
import { continuousItems } from '../survey/coding/continuous.js';
import { settledRows } from '../survey/flow/disputed_pipe.js';
import { hazards } from '../survey/grading/hazards.js';
import { farEnd, placesAlong } from '../survey/plan/run_places.js';
import { runTrace } from '../survey/plan/run_trace.js';
import { runWater } from '../survey/levels/run_water.js';
import { basisOf } from '../survey/plan/trace_basis.js';
import { visibility } from '../survey/coding/visibility.js';
import { capacityOf } from './capacity.js';
import { gradingOf, levelFacts, suggestedOf } from './condition.js';
import { LevelFigures } from './level_figures.js';
import { runSource } from './run_records.js';

/** @typedef {import('./run_records.js').Remember} Remember */
/** @typedef {import('./run_records.js').RunSource} RunSource */
/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */

/**
 * @param {import('../records/types.js').RunRecord} recorded
 * @param {import('./run_records.js').RunRecords} records
 * @param {import('../records/types.js').JobFields} job its fields
 * @param {import('../records/tables.js').Tables} tables by name
 * @param {Remember} [remember]
 * @returns {RunFigures}
 */
export function runFigures(recorded, records, job, tables, remember = memory()) {
  return new RunFigures(runSource(recorded, records, remember), job, tables, remember);
}

/** Remembers each value once. @returns {Remember} */
function memory() {
  const kept = new Map();
  return (name, _, work) => {
    if (!kept.has(name)) kept.set(name, work());
    return kept.get(name);
  };
}

/** What the survey functions make of a run; units as there. */
export class RunFigures extends LevelFigures {
  /**
   * @param {RunSource} source
   * @param {import('../records/types.js').JobFields} job
   * @param {import('../records/tables.js').Tables} tables
   * @param {Remember} remember
   * @param {WholeLength | null} [whole] the length that it stands for, if it is no single run
   * @param {RunFigures | null} [first] the figures of its first run
   */
  constructor(source, job, tables, remember, whole = null, first = null) {
    super(source, job, tables, remember, whole);
    this.first = first;
  }

  /** What goes on along the pipe. */
  get items() {
    const {
      whole,
      extent,
      records: { observations }
    } = this;
    return (
      whole?.items ??
      this.remember(
        'items',
        [observations, extent],
        () => continuousItems(observations, extent.end_counter_m).items
      )
    );
  }

  /** What the camera could see. */
  get visibility() {
    const {
      whole,
      run,
      stretches,
      extent,
      instruments,
      items,
      records: { observations, erased }
    } = this;
    return (
      whole?.visibility ??
      this.remember('visibility', [run, stretches, observations, items, instruments, erased], () =>
        visibility(
          {
            run,
            stretches,
            observations,
            items,
            end_counter_m: extent.end_counter_m,
            scale: instruments.scale,
            erased
          },
          this.tables.visibility
        )
      )
    );
  }

  /** Hazards to people, the gravest first. */
  get hazards() {
    const {
      extent,
      items,
      records: { observations }
    } = this;
    return this.remember('hazards', [observations, items], () =>
      hazards(observations, items, extent.end_counter_m, this.tables.hazards.rows)
    );
  }

  /** What the stretches and the run carry. */
  get capacity() {
    const { source, items, visibility: account, opened, profile, whole } = this;
    const {
      run,
      stretches,
      instruments,
      records: { observations, nodes }
    } = source;
    return this.stage(
      'capacity',
      [run, stretches, observations, nodes, instruments, items, account, opened, profile, whole],
      () => capacityOf(source, [items, account], [opened[0], profile], this.tables, whole)
    );
  }

  /** Standing water and lengths that rise with the flow. */
  get water() {
    const {
      run,
      instruments,
      measured: profile,
      capacity,
      records: { observations }
    } = this;
    return (
      profile &&
      this.stage('water', [run, observations, profile, capacity, instruments], () =>
        runWater(run, observations, profile, settledRows(capacity?.rows ?? []), instruments)
      )
    );
  }

  /** Whether part of the length was not surveyed: nobody knows which way the pipe goes on there. */
  get between() {
    return Boolean(this.whole?.join.between.length);
  }

  /**
   * Where the run goes in plan; of a length with part not surveyed, where its first run goes.
   * @returns {import('../survey/plan/run_trace.js').RunTrace | null}
   */
  get trace() {
    if (this.between) return this.first?.trace ?? null;
    const {
      run,
      stretches,
      instruments,
      job,
      settled,
      records: { nodes, readings, observations }
    } = this;
    return this.stage(
      'trace',
      [run, nodes, readings, observations, stretches, instruments, job, settled],
      () => runTrace(this.#traceFacts)
    );
  }

  /** What the trace is made from. @returns {import('../survey/plan/run_trace.js').TraceFacts} */
  get #traceFacts() {
    const { run, stretches, instruments, job, tables, settled, records } = this;
    return {
      ...records,
      run,
      instruments,
      settled,
      code_rows: tables.observation_codes.rows,
      declination_deg: job.declination_deg ?? null,
      convergence_deg: job.grid_convergence_deg ?? null,
      basis: basisOf(job, stretches, tables.joint_deflections.rows)
    };
  }

  /** The far end, as seen from the start. */
  get end() {
    const { trace } = this;
    return this.between || !trace ? null : this.remember('end', [trace], () => farEnd(trace));
  }

  /** Where the observations lie along the trace. @returns {ReturnType<typeof placesAlong>} */
  get placed() {
    if (this.between) return this.first?.placed ?? [];
    const {
      trace,
      records: { observations }
    } = this;
    return (
      (trace &&
        this.stage('placed', [trace, observations], () =>
          placesAlong(observations, trace, this.#traceFacts)
        )) ??
      []
    );
  }

  /** The preliminary classes, each with what caused it. */
  get grading() {
    const { source, items, visibility: account, capacity } = this;
    const {
      run,
      stretches,
      instruments,
      records: { observations }
    } = source;
    return this.stage('grading', [run, stretches, observations, instruments, items, account, capacity], () =>
      gradingOf(source, [items, account], capacity, this.tables)
    );
  }

  /** What of the levels and of the trace would be settled at the far end. */
  get level_facts() {
    const { run, model, measured, end, far_tie: farTie } = this;
    return this.remember('level_facts', [run, model, measured, end, farTie], () =>
      levelFacts(run, model, measured, end, farTie)
    );
  }

  /** What to do next, by rule. */
  get suggested() {
    const { source, grading, hazards: dangers, level_facts: facts } = this;
    return (
      grading &&
      this.stage('suggested', [grading, dangers, facts], () =>
        suggestedOf(source, grading, dangers, facts, this.tables)
      )
    );
  }
}
