/**
 * What a trace rests on besides the records of its run. Twin of webapp/survey/plan/trace_basis.py, where the
 * sources stand.
 */
import { gridConvergence } from './north.js';
import { radius95M, statedPct } from './position_accuracy.js';

/** @typedef {import('../../records/types.js').JobFields} JobFields */

/** @typedef {import('../../records/types.js').DeclinationKnown} DeclinationKnown */
/** @typedef {import('../../records/types.js').Position} Position */
/** @typedef {{fields: import('../../records/types.js').StretchFields}} Stretch */
/** @typedef {import('./joints.js').JointRow} JointRow */
/**
 * @typedef {{declination_sd_deg: number | null, declination_known: DeclinationKnown | null,
 *   declination_model: string | null, stretches: Stretch[], joint_rows: JointRow[],
 *   central_meridian_deg: number | null}} TraceBasis
 */
/**
 * @typedef {{deg: number, sd_deg: number, sd_known: string, known: DeclinationKnown | '', model: string}}
 *   DeclinationUsed
 */
/**
 * @typedef {{radius_m: number, known: string, stated_m: number | null, stated_pct: number | null, source:
 *   string}} PositionUsed
 */

export const ASSUMED = {
  bearing_sd_deg: 5,
  bend_sd_deg: 5,
  position_radius_m: 10,
  declination_sd_deg: 1,
  model_sd_deg: 0.7
};

/** @param {number} declinationDeg @param {TraceBasis} basis @returns {DeclinationUsed} */
export function declinationUsed(declinationDeg, basis) {
  const provenance = basis.declination_known || '';
  const byModel = provenance === 'model';
  const sd = basis.declination_sd_deg ?? null;
  return {
    deg: declinationDeg,
    sd_deg: sd ?? ASSUMED[byModel ? 'model_sd_deg' : 'declination_sd_deg'],
    sd_known: sd === null ? 'assumed' : byModel ? 'computed' : 'measured',
    known: provenance,
    model: basis.declination_model || ''
  };
}

/**
 * What was typed in always counts.
 * @param {number | null} convergenceDeg
 * @param {Position | null} start
 * @param {TraceBasis} basis
 * @returns {{deg: number, known: string} | null}
 */
export function convergenceUsed(convergenceDeg, start, basis) {
  const meridian = basis.central_meridian_deg ?? null;
  if (convergenceDeg !== null) return { deg: convergenceDeg, known: 'typed' };
  if (start === null || meridian === null) return null;
  return { deg: gridConvergence(start.lat_deg, start.lon_deg, meridian), known: 'computed' };
}

/** @param {Position} position @returns {PositionUsed} */
export function positionUsed(position) {
  const radius = radius95M(position);
  const source = position.source || '';
  if (radius === null)
    return {
      radius_m: ASSUMED.position_radius_m,
      known: 'assumed',
      stated_m: null,
      stated_pct: null,
      source
    };
  return {
    radius_m: radius,
    known: 'measured',
    stated_m: Number(position.accuracy_m),
    stated_pct: statedPct(position),
    source
  };
}

/**
 * @param {JobFields} job
 * @param {Stretch[]} stretches
 * @param {JointRow[]} jointRows
 * @returns {TraceBasis}
 */
export function basisOf(job, stretches, jointRows) {
  return {
    declination_sd_deg: job.declination_sd_deg ?? null,
    declination_known: job.declination_known ?? null,
    declination_model: job.declination_model ?? null,
    stretches,
    joint_rows: jointRows,
    central_meridian_deg: job.grid_central_meridian_deg ?? null
  };
}
