/**
 * How much of a bend lies in plan, by the inclinations on both sides. Twin of
 * webapp/survey/plan/deflection.py.
 */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';

/** @typedef {{readings: import('./plan_reading.js').Reading[], sd_deg: number}} SlopeReadings ascending */

const NEAR_M = 2; // readings nearer than this on both sides tell it better; common practice, no source
const RADIAN = Math.PI / 180;
/** @type {SlopeReadings} */
export const NO_SLOPES = { readings: [], sd_deg: 0 };

/** @param {number} turnedDeg @param {number} beforeDeg @param {number} afterDeg @returns {number | null} */
export function deflectionInPlanDeg(turnedDeg, beforeDeg, afterDeg) {
  const turned = finite(turnedDeg, 'turned_deg');
  if (!(turned >= 0 && turned <= 180)) throw new SurveyError('bend_angle_out_of_range', 'turned_deg');
  const [first, second] = [finite(beforeDeg, 'before_deg'), finite(afterDeg, 'after_deg')];
  if (!(first >= -90 && first <= 90)) throw new SurveyError('inclination_beyond_vertical', 'before_deg');
  if (!(second >= -90 && second <= 90)) throw new SurveyError('inclination_beyond_vertical', 'after_deg');
  const flat = Math.cos(first * RADIAN) * Math.cos(second * RADIAN);
  if (flat < 1e-12) return null;
  // sin2(turned/2) - sin2(rise/2) = flat sin2(plan/2), as a product so that nothing cancels
  const rise = second - first;
  const square = (Math.sin(((turned + rise) / 2) * RADIAN) * Math.sin(((turned - rise) / 2) * RADIAN)) / flat;
  if (square < 0) return null;
  return 2 * (Math.asin(Math.sqrt(Math.min(1, square))) / RADIAN);
}

/**
 * The deflection in plan and its spread, from the inclinations close to both sides.
 * @param {number} atM
 * @param {number} turnedDeg
 * @param {number} sdDeg
 * @param {SlopeReadings} slopes
 * @returns {[number, number] | null}
 */
export function deflectionFromReadings(atM, turnedDeg, sdDeg, { readings, sd_deg: readingSd }) {
  const before = readings.findLast((one) => one.chainage_m <= atM);
  const after = readings.find((one) => one.chainage_m > atM);
  if (!before || !after || before.deg === null || after.deg === null) return null;
  if (atM - before.chainage_m > NEAR_M || after.chainage_m - atM > NEAR_M) return null;
  const plan = deflectionInPlanDeg(turnedDeg, before.deg, after.deg);
  if (plan === null) return null;
  const scale = Math.cos(before.deg * RADIAN) * Math.cos(after.deg * RADIAN) * Math.sin(plan * RADIAN);
  if (scale < 1e-6) return null;
  const byAngle = (Math.sin(turnedDeg * RADIAN) / scale) * sdDeg;
  const byRise = (Math.sin((after.deg - before.deg) * RADIAN) / scale) * readingSd;
  return [plan, Math.sqrt(byAngle * byAngle + 2 * byRise * byRise)];
}
