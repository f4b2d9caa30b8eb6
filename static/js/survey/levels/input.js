/** What a level profile is made from. Twin of webapp/survey/levels/input.py. */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';

/**
 * @typedef {{chainage_m: number, deg: number | null, over?: number, sd_deg?: number | null, to_m?: number |
 *   null, turned?: boolean}} LevelReading
 */
/** @typedef {{chainage_m: number, level_m: number, sd_m: number}} LevelTie */
/** @typedef {{from_m: number, to_m: number, unit_m: number | null}} Pipes */
/**
 * @typedef {{mode: string, start_chainage_m: number, start_level_m: number | null, start_sd_m: number,
 *   sd_deg: number, zero_sd_deg: number, scale_sd: number, zero_deg?: number, limit_deg?: number,
 *   end_chainage_m?: number | null, pipes?: Pipes[]}} LevelSetup
 */

export const SAME_PLACE_M = 1e-6; // two chainages nearer than this are one station
const MODES = ['trapezoid', 'span', 'course'];
export const NOT_READ = 2; // of a length that nobody surveyed: it may rise or fall

/** @param {LevelSetup} setup @returns {void} */
export function checkSetup(setup) {
  finite(setup.start_chainage_m, 'start_chainage_m');
  if (setup.start_level_m !== null) finite(setup.start_level_m, 'start_level_m');
  const end = setup.end_chainage_m ?? null;
  if (end !== null) finite(end, 'end_chainage_m');
  finite(setup.zero_deg ?? 0, 'zero_deg');
  const limit = finite(setup.limit_deg ?? 10, 'limit_deg');
  spread(setup.start_sd_m, 'start_sd_m');
  spread(setup.sd_deg, 'sd_deg');
  spread(setup.zero_sd_deg, 'zero_sd_deg');
  spread(setup.scale_sd, 'scale_sd');
  if (!MODES.includes(setup.mode)) throw new SurveyError('mode_unknown', 'mode');
  (setup.pipes ?? []).forEach((one, index) => {
    finite(one.from_m, 'pipes', index);
    finite(one.to_m, 'pipes', index);
    if (one.unit_m !== null && !(finite(one.unit_m, 'pipes', index) > 0))
      throw new SurveyError('length_not_positive', 'pipes', index);
  });
  if (!(limit > 0 && limit <= 90)) throw new SurveyError('limit_out_of_range', 'limit_deg');
  if (end !== null && end < setup.start_chainage_m)
    throw new SurveyError('end_before_start', 'end_chainage_m');
}

/** @param {LevelReading[]} readings @param {number} startChainageM @returns {number[]} */
export function checkReadings(readings, startChainageM) {
  /** @type {number[]} */
  const kept = [];
  readings.forEach((reading, index) => {
    checkReading(reading, index);
    if (index && reading.chainage_m < readings[index - 1].chainage_m) {
      throw new SurveyError('chainage_not_ascending', 'readings', index);
    }
    if (reading.chainage_m >= startChainageM) kept.push(index);
  });
  if (kept.length === 0) throw new SurveyError('no_readings', 'readings');
  return kept;
}

/** @param {LevelReading} reading @param {number} index */
function checkReading(reading, index) {
  finite(reading.chainage_m, 'readings', index);
  for (const value of [reading.deg, reading.to_m ?? null]) {
    if (value !== null) finite(value, 'readings', index);
  }
  if ((reading.sd_deg ?? null) !== null) spread(reading.sd_deg, 'readings', index);
  if (reading.deg === null && reading.over !== -1 && reading.over !== 1 && reading.over !== NOT_READ) {
    throw new SurveyError('reading_incomplete', 'readings', index);
  }
  if (reading.deg !== null && Math.abs(reading.deg) > 90) {
    throw new SurveyError('inclination_beyond_vertical', 'readings', index);
  }
  const to = reading.to_m ?? null;
  if (to !== null && to < reading.chainage_m) throw new SurveyError('pipes_overlap', 'readings', index);
}

/** @param {LevelTie[]} ties @param {LevelSetup} setup @returns {number} */
export function checkTies(ties, setup) {
  const end = setup.end_chainage_m ?? null;
  let last = setup.start_chainage_m;
  ties.forEach((tie, index) => {
    finite(tie.chainage_m, 'ties', index);
    finite(tie.level_m, 'ties', index);
    spread(tie.sd_m, 'ties', index);
    if (tie.chainage_m < setup.start_chainage_m - SAME_PLACE_M)
      throw new SurveyError('tie_before_start', 'ties', index);
    if (end !== null && tie.chainage_m > end + SAME_PLACE_M)
      throw new SurveyError('tie_beyond_end', 'ties', index);
    last = tie.chainage_m > last ? tie.chainage_m : last;
  });
  return last;
}
