/**
 * A length of pipe surveyed in pieces: its runs put together, and the figures of that as those of one run.
 * Twin of webapp/figures/lengths.py.
 */
import { lengthOfRuns } from '../survey/lengths/length_of_runs.js';
import { RunFigures } from './run_figures.js';

/** @typedef {import('../survey/lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../survey/plan/run_extent.js').RunExtent} RunExtent */

const DEFECTS = ['fabric', 'operation'];

/**
 * @param {RunFigures[]} runs the first run first
 * @param {import('../records/tables.js').Tables} tables
 * @returns {WholeLength}
 */
export function wholeLength(runs, tables) {
  const counted = tables.observation_codes.rows
    .filter((row) => DEFECTS.includes(row.group))
    .map((row) => row.code);
  return lengthOfRuns(runs.map(pieceOf), runs[0].records.checks, tables.visibility, counted);
}

/** @param {RunFigures} figures @returns {import('../survey/lengths/length_of_runs.js').PieceRun} */
export function pieceOf({ source, run, records }) {
  const { readings, level_ties: ties, stretches, observations, erased } = records;
  return { run_id: source.run_id, fields: run, readings, level_ties: ties, stretches, observations, erased };
}

/**
 * Null where it is not known how its runs join.
 * @param {WholeLength} whole
 * @param {RunFigures} first
 * @param {import('./run_records.js').Remember} remember
 */
export function lengthFigures(whole, first, remember) {
  if (whole.join.length_m === null) return null;
  return new RunFigures(lengthSource(whole, first), first.job, first.tables, remember, whole, first);
}

/** @param {WholeLength} whole @param {RunFigures} first @returns {import('./run_records.js').RunSource} */
export function lengthSource(whole, first) {
  const { nodes, checks } = first.records;
  const { readings, level_ties: ties, stretches, observations } = whole;
  const records = {
    nodes,
    checks,
    readings,
    level_ties: ties,
    stretches,
    observations,
    remarks: [],
    photos: [],
    erased: []
  };
  return {
    run_id: first.source.run_id,
    run: whole.run,
    records,
    parts: [],
    unusable: [],
    instruments: whole.pieces[0].instruments,
    extent: /** @type {RunExtent} */ (whole.extent),
    stretches
  };
}
