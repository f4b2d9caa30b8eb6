/**
 * The figures of the levels of a run, or of a length surveyed in pieces, from its records.
 * Twin of webapp/figures/level_figures.py.
 */
import { SurveyError } from '../survey/errors.js';
import { ASSUMED } from '../survey/instruments/instruments.js';
import { chainageM } from '../survey/instruments/counter.js';
import { withAssumed, withUnsurveyed } from '../survey/lengths/levels_both_ends.js';
import { levelSenses } from '../survey/levels/bound_side.js';
import { lengthRow, lengthTable } from '../survey/levels/falls.js';
import { settledInclinations } from '../survey/levels/gap_inclinations.js';
import { levelProfile } from '../survey/levels/levels.js';
import { levelFindings } from '../survey/levels/reading_findings.js';
import { runModel } from '../survey/levels/run_model.js';
import { whatAFarTieSettles } from '../survey/levels/tie_benefit.js';
import { riseValue } from '../survey/levels/values.js';

/** @typedef {import('./run_records.js').Remember} Remember */
/** @typedef {import('./run_records.js').RunSource} RunSource */
/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */

/** What all figures of a run are made from, and those of its levels; units as in the survey functions. */
export class LevelFigures {
  /**
   * @param {RunSource} source
   * @param {import('../records/types.js').JobFields} job
   * @param {import('../records/tables.js').Tables} tables
   * @param {Remember} remember
   * @param {WholeLength | null} [whole] the length that it stands for, if it is no single run
   */
  constructor(source, job, tables, remember, whole = null) {
    this.remember = remember;
    this.source = source;
    this.job = job;
    this.tables = tables;
    this.whole = whole;
    this.run = source.run;
    this.records = source.records;
    this.instruments = source.instruments;
    this.parts = source.parts;
    this.extent = source.extent;
    this.stretches = source.stretches;
    /** @type {Object<string, string>} */
    this.refused = {};
    /** Chainage of a counter reading. @type {(counterM: number) => number} */
    this.placeOf = (counterM) =>
      chainageM(counterM, source.run.counter_zero_m || 0, source.instruments.scale);
  }

  /**
   * A figure that may be refused: then `refused` says why.
   * @template T
   * @param {string} name
   * @param {unknown[]} inputs
   * @param {() => T} work
   * @returns {T | null}
   */
  stage(name, inputs, work) {
    const found = this.remember(name, inputs, () => attempt(work));
    if (found.code) this.refused[name] = found.code;
    return found.value;
  }

  /**
   * The model of the levels, open where a length was not surveyed; between which chainages a reading is taken
   * to go on.
   */
  get opened() {
    const {
      run,
      stretches,
      instruments,
      whole,
      records: { readings, level_ties: ties, nodes }
    } = this;
    return this.remember('opened', [run, readings, ties, stretches, nodes, instruments], () =>
      withUnsurveyed(runModel(run, readings, ties, stretches, nodes, instruments), whole?.join.between ?? [])
    );
  }

  /** The model of the levels. */
  get model() {
    return this.opened[0];
  }

  /** The levels; null without a reading. */
  get profile() {
    const { opened } = this;
    const [model, assumed] = opened;
    if (model.readings.length === 0) return null;
    return this.stage('profile', [opened], () =>
      withAssumed(levelProfile(model.readings, model.ties, model.setup), assumed)
    );
  }

  /** The levels where there are two places at least, so that there is a fall between them. */
  get measured() {
    const { profile } = this;
    return profile && profile.stations.length > 1 ? profile : null;
  }

  /** What the readings say of themselves. */
  get level_findings() {
    const { profile, model } = this;
    return levelFindings(
      profile,
      model.readings.map((one) => one.chainage_m)
    );
  }

  /** Of each station that is only bounded, on which side. */
  get senses() {
    const { measured: profile } = this;
    return profile ? this.remember('senses', [profile], () => levelSenses(profile)) : [];
  }

  /** From the start to the end, bounded where it is only bounded. */
  get rise() {
    const { measured: profile } = this;
    return (
      profile &&
      this.stage('rise', [profile], () => riseValue(profile.solution, 0, profile.stations.length - 1))
    );
  }

  /** How that is known. */
  get rise_known() {
    const { measured: profile, rise } = this;
    if (!profile || !rise) return 'unknown';
    if (!rise.settled) return 'bounded';
    if (profile.blunders.length) return 'contradicted';
    return profile.stations.slice(1).some((one) => one.known === 'assumed') ? 'assumed' : 'computed';
  }

  /** The table of falls. */
  get lengths() {
    const { measured: profile } = this;
    return (profile && this.stage('lengths', [profile], () => lengthTable(profile))) ?? [];
  }

  /** The length surveyed last, without the others. */
  get last_length() {
    const { measured: profile } = this;
    return (
      profile && this.stage('last_length', [profile], () => lengthRow(profile, profile.stations.length - 2))
    );
  }

  /** What a level taken at the far end would settle. */
  get far_tie() {
    const { measured: profile } = this;
    return profile && this.stage('far_tie', [profile], () => whatAFarTieSettles(profile, ASSUMED.tie_sd_m));
  }

  /** What the ties tell of readings beyond the range. */
  get settled() {
    const { model, profile } = this;
    return this.remember('settled', [model, profile], () =>
      settledInclinations(model.reading_ids, profile?.gaps ?? [])
    );
  }
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
