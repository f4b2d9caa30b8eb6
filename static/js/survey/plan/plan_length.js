/** Plan lengths from distances along the pipe. Twin of webapp/survey/plan/plan_length.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';

/** @typedef {import('./plan_reading.js').Reading} Reading */
/** @typedef {{chainage_m: number, low_m: number, high_m: number, known: string}} PlanLength */
/** @typedef {[number, number, number, number]} Knot chainage, least and greatest cosine, over */

const RADIAN = Math.PI / 180;

/**
 * @param {number[]} chainagesM
 * @param {Reading[]} readings
 * @param {number} limitDeg
 * @param {Object<number, import('../levels/gap_inclinations.js').Settled>} [settled] of readings beyond the
 *   range, by their place
 * @returns {PlanLength[]}
 */
export function planLengths(chainagesM, readings, limitDeg, settled = {}) {
  const limit = finite(limitDeg, 'limit_deg');
  if (!(limit > 0 && limit <= 90)) throw new SurveyError('limit_out_of_range', 'limit_deg');
  const knots = knotsOf(readings, Math.cos(limit * RADIAN), settled);
  return chainagesM.map((chainage, index) => {
    if (finite(chainage, 'chainages_m', index) < 0)
      throw new SurveyError('chainage_negative', 'chainages_m', index);
    if (!knots.length) return { chainage_m: chainage, low_m: chainage, high_m: chainage, known: 'assumed' };
    const [start, end] = [walked(knots, 0), walked(knots, chainage)];
    const inside = knots[0][0] <= chainage && chainage <= knots[knots.length - 1][0];
    const provenance = end[2] > start[2] ? 'bounded' : inside || chainage === 0 ? 'computed' : 'assumed';
    return { chainage_m: chainage, low_m: end[0] - start[0], high_m: end[1] - start[1], known: provenance };
  });
}

/**
 * @param {Reading[]} readings
 * @param {number} most
 * @param {Object<number, import('../levels/gap_inclinations.js').Settled>} settled
 * @returns {Knot[]}
 */
function knotsOf(readings, most, settled) {
  /** @type {Knot[]} */
  const knots = [];
  for (const [index, reading] of readings.entries()) {
    const chainage = finite(reading.chainage_m, 'readings', index);
    if (index && chainage < knots[index - 1][0])
      throw new SurveyError('chainage_not_ascending', 'readings', index);
    if (reading.deg !== null) {
      const deg = finite(reading.deg, 'readings', index);
      if (!(deg >= -90 && deg <= 90)) throw new SurveyError('inclination_beyond_vertical', 'readings', index);
      const cosine = Math.cos(deg * RADIAN);
      knots.push([chainage, cosine, cosine, 0]);
    } else if ((reading.over === 1 || reading.over === -1) && settled[index]) {
      const [leastDeg, mostDeg, one] = settled[index];
      knots.push([chainage, Math.cos(mostDeg * RADIAN), Math.cos(leastDeg * RADIAN), one ? 0 : 1]);
    } else if (reading.over === 1 || reading.over === -1) {
      knots.push([chainage, 0, most, 1]);
    } else throw new SurveyError('reading_incomplete', 'readings', index);
  }
  return knots;
}

/**
 * Plan distance from the first knot, both bounds, and how much lies beyond the range.
 * @param {Knot[]} knots
 * @param {number} chainage
 */
function walked(knots, chainage) {
  const [first] = knots;
  if (chainage <= first[0]) {
    const back = chainage - first[0];
    return [back * first[1], back * first[2], back * first[3]];
  }
  let [low, high, over] = [0, 0, 0];
  let before = first;
  for (const here of knots.slice(1)) {
    const step = Math.min(chainage, here[0]) - before[0];
    low += (step * (before[1] + here[1])) / 2;
    high += (step * (before[2] + here[2])) / 2;
    over += before[3] || here[3] ? step : 0;
    if (chainage <= here[0]) return [low, high, over];
    before = here;
  }
  const step = chainage - before[0];
  return [low + step * before[1], high + step * before[2], over + step * before[3]];
}
