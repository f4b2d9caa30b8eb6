/**
 * Every figure of a run, composed from its records in one place. Computed when asked for, and once for each
 * edit.
 */
import { SurveyError } from '../survey/errors.js';
import { ASSUMED, instrumentsOf } from '../survey/instruments/instruments.js';
import { whatAFarTieSettles } from '../survey/levels/tie_benefit.js';
import { withAssumed, withUnsurveyed } from '../survey/lengths/levels_both_ends.js';
import { STOPPED, stoppedCounters, withheldBetween } from '../survey/lengths/length_of_runs.js';
import { lengthRow, lengthTable } from '../survey/levels/falls.js';
import { levelProfile } from '../survey/levels/levels.js';
import { riseValue } from '../survey/levels/values.js';
import { runCapacity } from '../survey/flow/run_capacity.js';
import { runExtent } from '../survey/plan/run_extent.js';
import { runModel } from '../survey/levels/run_model.js';
import { farEnd, placesAlong } from '../survey/plan/run_places.js';
import { runTrace } from '../survey/plan/run_trace.js';
import { runWater } from '../survey/levels/run_water.js';
import { settledInclinations } from '../survey/levels/gap_inclinations.js';
import { basisOf } from '../survey/plan/trace_basis.js';
import { chainageM } from '../survey/instruments/counter.js';
import { asIfNeverReset } from '../survey/instruments/counter_resets.js';
import { suggestedActions } from '../survey/grading/actions.js';
import { withProhibitions } from '../survey/grading/prohibitions.js';
import { limitedCapacity } from '../survey/flow/capacity_limits.js';
import { overPipes, pipeVariants, settledRows, settledRun } from '../survey/flow/disputed_pipe.js';
import { continuousItems } from '../survey/coding/continuous.js';
import { hazards } from '../survey/grading/hazards.js';
import { closedStretches, endedRun } from '../survey/coding/run_end.js';
import { visibility, withUnseen } from '../survey/coding/visibility.js';
import { wholeRunLimits, withWholeRun } from '../survey/flow/whole_run.js';
import { runGrading } from '../survey/grading/run_grading.js';

/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../records/types.js').KindOfRun} KindOfRun */
/** @typedef {import('../ui/types.js').JobView} JobView */
/** @template {import('../ui/types.js').Kind} K @typedef {import('../ui/types.js').RecordOf<K>} RecordOf */
/** @typedef {ReturnType<typeof runFigures>} Figures */

/**
 * @type {WeakMap<object, Map<string, {inputs: any[], value: any}>>} of each job's view, what was computed
 *   last
 */
const kept = new WeakMap();

/**
 * @template {KindOfRun} K
 * @param {JobView} view
 * @param {string} runId
 * @param {K} kind
 * @returns {RecordOf<K>[]}
 */
export function ofRun(view, runId, kind) {
  return view.records(kind).filter((one) => one.fields.run_id === runId);
}

/** The instruments as the run's checks leave them. @param {JobView} view @param {string} runId */
export function toolsOf(view, runId) {
  const checks = view.records('check');
  return once(view, `${runId}/tools`, [checks], () => instrumentsOf(checks, runId));
}

/**
 * The figures of a run. A stage that cannot be computed is null; `refused` says with which code.
 * @param {App} app
 * @param {HeldJob} view
 * @param {RecordOf<'run'>} recorded the run; where its counter was reset, all below counts on
 */
export function runFigures(app, view, recorded) {
  const of = (/** @type {KindOfRun} */ kind) => ofRun(view, recorded.id, kind);
  const raw = {
    reading: of('reading'),
    observation: of('observation'),
    level_tie: of('level_tie'),
    stretch: of('stretch'),
    remark: of('remark'),
    photo: of('photo')
  };
  const instruments = toolsOf(view, recorded.id);
  const [run, records, parts, extent, stretches] = once(
    view,
    `${recorded.id}/running`,
    [recorded, instruments, ...Object.values(raw)],
    () => {
      const [moved, recordsMoved, found] = asIfNeverReset(recorded.fields, raw);
      // after a reset its values count otherwise
      const { end_counter_m: end, ...others } = recorded.conflicts ?? {};
      const disputes = end && found.length < 2 ? { ...others, end_counter_m: end } : others;
      const fields = endedRun(settledRun(moved, disputes), recordsMoved.observation);
      const reach = runExtent(fields, recordsMoved.reading, recordsMoved.observation, instruments);
      return [
        { ...recorded, fields },
        recordsMoved,
        found,
        reach,
        closedStretches(recordsMoved.stretch, reach.end_counter_m)
      ];
    }
  );
  return figuresOf(app, view, {
    key: recorded.id,
    run,
    records,
    parts,
    extent,
    stretches,
    instruments,
    whole: null,
    first: null
  });
}

/**
 * The figures of a run, or of a length surveyed in pieces as one.
 * @param {App} app
 * @param {HeldJob} view
 * @param {{key: string, run: RecordOf<'run'>, records: Object<string, any[]>, parts: any[], extent: any,
 *   stretches: any[], instruments: any, whole: WholeLength | null, first: {trace: ReturnType<typeof runTrace> |
 *   null, places: ReturnType<typeof placesAlong> | null} | null}} source `whole` of a length, with the
 *   figures of its first run
 */
export function figuresOf(
  app,
  view,
  { key, run, records, parts, extent, stretches, instruments, whole, first }
) {
  const nodes = view.records('node');
  const job = view.job.fields;
  const { reading: readings, observation: observations, level_tie: ties } = records;
  /** @type {Object<string, string>} */
  const refused = {};
  /** @template T @param {string} name @param {any[]} inputs @param {() => T} work @returns {T | null} */
  const stage = (name, inputs, work) => {
    const found = once(view, `${key}/${name}`, inputs, () => attempt(work));
    if (found.code) refused[name] = found.code;
    return found.value;
  };
  return {
    run,
    parts,
    records,
    instruments,
    readings,
    observations,
    ties,
    stretches,
    nodes,
    job,
    refused,
    placeOf: (/** @type {number} */ counterM) =>
      chainageM(counterM, run.fields.counter_zero_m || 0, instruments.scale),
    /**
     * The model of the levels, open where a length was not surveyed; and where a reading is only taken to go
     * on.
     */
    get opened() {
      return stage('model', [run, readings, ties, stretches, nodes, instruments], () =>
        withUnsurveyed(
          runModel(run.fields, readings, ties, stretches, nodes, instruments),
          whole?.join.between ?? []
        )
      );
    },
    get model() {
      return this.opened?.[0] ?? null;
    },
    get profile() {
      const { model } = this;
      if (!model || model.readings.length === 0) return null;
      return stage('profile', [model], () =>
        withAssumed(levelProfile(model.readings, model.ties, model.setup), this.opened?.[1] ?? [])
      );
    },
    get lengths() {
      const { profile } = this;
      return profile && stage('lengths', [profile], () => lengthTable(profile));
    },
    /** From the start to the end, bounded where it is only bounded. */
    get wholeRise() {
      const { profile } = this;
      return (
        profile &&
        stage('whole', [profile], () => riseValue(profile.solution, 0, profile.stations.length - 1))
      );
    },
    /** The length surveyed last. */
    get lastLength() {
      const { profile } = this;
      return profile && profile.stations.length > 1
        ? stage('last', [profile], () => lengthRow(profile, profile.stations.length - 2))
        : null;
    },
    /** What a level taken at the far end would do. */
    get settled() {
      const { profile } = this;
      return profile && stage('settled', [profile], () => whatAFarTieSettles(profile, ASSUMED.tie_sd_m));
    },
    extent,
    /** What goes on along the pipe. */
    get items() {
      return (
        whole?.items ??
        stage(
          'items',
          [observations, extent],
          () => continuousItems(observations, extent.end_counter_m).items
        ) ??
        []
      );
    },
    /** What the camera could see. */
    get visibility() {
      const { items } = this;
      return (
        whole?.visibility ??
        stage('visibility', [run, stretches, observations, items, instruments], () =>
          visibility(
            run.fields,
            stretches,
            observations,
            items,
            extent.end_counter_m,
            instruments.scale,
            app.tables.visibility
          )
        )
      );
    },
    /** Hazards to people, the gravest first. */
    get hazards() {
      const { items } = this;
      return (
        stage('hazards', [observations, items], () =>
          hazards(observations, items, extent.end_counter_m, app.tables.hazards.rows)
        ) ?? []
      );
    },
    get capacity() {
      const { profile, items, visibility: account } = this;
      if (!account) return null;
      const {
        roughness: { rows: rough },
        narrowings
      } = app.tables;
      const endM = extent.end_counter_m;
      const made = (/** @type {any[]} */ pipes) =>
        limitedCapacity(
          runCapacity(run.fields, pipes, observations, rough, profile, instruments),
          {
            run: run.fields,
            stretches: pipes,
            observations,
            items,
            visibility: account,
            end_counter_m: endM,
            profile,
            scale: instruments.scale,
            nodes,
            tied: Boolean(this.model?.ties.length)
          },
          rough,
          narrowings
        );
      return stage('capacity', [run, stretches, observations, profile, account, instruments, nodes], () => {
        /** @type {Object<string, any[]>} */
        const each = {};
        stretches.forEach((one, k) => {
          const others = pipeVariants(one).slice(1);
          if (others.length)
            each[k] = others.map((may) => made(stretches.map((other, i) => (i === k ? may : other))).rows[k]);
        });
        const limits = wholeRunLimits(run.fields, stretches, observations, endM, narrowings);
        if (Object.keys(each).length) limits.push('pipe_in_dispute');
        return withheld(
          withWholeRun(overPipes(made(stretches), each), limits, Boolean(profile?.blunders.length)),
          whole,
          narrowings
        );
      });
    },
    get water() {
      const { profile, capacity } = this;
      if (!profile) return null;
      return stage('water', [run, observations, profile, capacity, instruments], () =>
        runWater(run.fields, observations, profile, settledRows(capacity?.rows ?? []), instruments)
      );
    },
    /** The preliminary classes, each with what caused it. */
    get grading() {
      const { capacity, items, visibility: account } = this;
      const { observation_codes: codes, grading_limits: scheme } = app.tables;
      return stage('grading', [run, stretches, observations, capacity, account, instruments], () => {
        const found = runGrading(
          run.fields,
          stretches,
          observations,
          items,
          codes.rows,
          capacity?.rows ?? [],
          scheme,
          extent.end_counter_m,
          instruments.scale
        );
        return account ? withUnseen(found, account, instruments.scale) : found;
      });
    },
    /** What of the levels and of the trace would be settled at the far end. */
    get levelFacts() {
      const { profile, model, end, settled } = this;
      const last = profile?.stations[profile.stations.length - 1];
      const reached = run.fields.end_reason === 'node_reached'; // then somebody stood there
      const facts = { radius_m: end && !reached ? end.radius_m : null };
      if (
        !profile ||
        !model ||
        !last ||
        !settled ||
        profile.stations.length < 2 ||
        ['adjusted', 'measured'].includes(last.known)
      )
        return facts;
      return {
        ...facts,
        far_m: last.chainage_m,
        now_sd_m: settled.now_sd_m,
        then_sd_m: settled.sd_m,
        both_ends: settled.both_ends,
        gaps_m: profile.gaps
          .filter((gap) => gap.status !== 'solved')
          .map((gap) => model.readings[gap.reading].chainage_m)
      };
    },
    /** What to do next, by rule. */
    get suggested() {
      const { grading, levelFacts } = this;
      const { hazards: dangers } = this;
      return (
        grading &&
        stage('suggested', [grading, dangers, JSON.stringify(levelFacts)], () =>
          withProhibitions(
            suggestedActions(grading, levelFacts, app.tables.actions, instruments.scale),
            dangers,
            app.tables.hazards.rows,
            app.tables.actions,
            run.fields.counter_zero_m || 0,
            instruments.scale
          )
        )
      );
    },
    /** What the ties tell of readings beyond the range. */
    get settledGaps() {
      const { profile, model } = this;
      return stage('gaps', [profile, model], () =>
        settledInclinations(model?.reading_ids ?? [], profile?.gaps ?? [])
      );
    },
    get trace() {
      if (whole?.join.between.length) return first?.trace ?? null; // nobody knows which way it goes on
      const settled = this.settledGaps ?? {};
      return stage(
        'trace',
        [run, nodes, readings, observations, stretches, instruments, view.job, settled],
        () =>
          runTrace(
            run.fields,
            nodes,
            readings,
            observations,
            app.tables.observation_codes.rows,
            instruments,
            job.declination_deg ?? null,
            job.grid_convergence_deg ?? null,
            settled,
            basisOf(job, stretches, app.tables.joint_deflections.rows)
          )
      );
    },
    get end() {
      const { trace } = this;
      return whole?.join.between.length ? null : trace && stage('end', [trace], () => farEnd(trace));
    },
    get places() {
      const { trace } = this;
      return whole?.join.between.length
        ? (first?.places ?? null)
        : trace &&
            stage('places', [trace, observations], () =>
              placesAlong(
                observations,
                run.fields,
                nodes,
                readings,
                instruments,
                trace,
                this.settledGaps ?? {}
              )
            );
    }
  };
}

/**
 * @template {{bottleneck: any}} C
 * @param {C} capacity
 * @param {WholeLength | null} whole
 * @param {any} narrowings
 * @returns {C}
 */
function withheld(capacity, whole, narrowings) {
  if (!whole) return capacity;
  const stopped = stoppedCounters(whole).some((at) =>
    wholeRunLimits(
      { end_reason: 'obstruction' },
      whole.stretches,
      whole.observations,
      at,
      narrowings
    ).includes(STOPPED)
  );
  return withheldBetween(capacity, whole.join, stopped);
}

/** @template T @param {() => T} work @returns {{value: T | null, code: string}} */
function attempt(work) {
  try {
    return { value: work(), code: '' };
  } catch (error) {
    if (error instanceof SurveyError) return { value: null, code: error.code };
    throw error;
  }
}

/**
 * The value of last time if nothing that went into it has changed since. Records are new objects when they
 * change.
 * @template T
 * @param {object} view
 * @param {string} name
 * @param {any[]} inputs
 * @param {() => T} work
 * @returns {T}
 */
export function once(view, name, inputs, work) {
  const mine = kept.get(view) ?? new Map();
  kept.set(view, mine);
  const before = mine.get(name);
  if (before?.inputs.every((/** @type {any} */ one, /** @type {number} */ i) => same(one, inputs[i]))) {
    return before.value;
  }
  const value = work();
  mine.set(name, { inputs, value });
  return value;
}

/** @param {any} one @param {any} other @returns {boolean} */
function same(one, other) {
  if (one === other) return true;
  return (
    Array.isArray(one) &&
    Array.isArray(other) &&
    one.length === other.length &&
    one.every((item, i) => item === other[i])
  );
}
