/** Levels along a run from the inclinations. Twin of webapp/survey/profile.py. */
import { SurveyError } from './errors.js';

/** @typedef {{chainage_m: number, deg: number | null, over?: number}} Reading */
/** @typedef {{chainage_m: number, low_m: number, high_m: number, known: string}} Station */

/**
 * @param {Reading[]} readings
 * @param {number} startLevelM
 * @param {number} limitDeg
 * @param {number} startChainageM
 * @param {number | null} [endChainageM]
 * @returns {Station[]}
 */
export function integrate(readings, startLevelM, limitDeg, startChainageM, endChainageM = null) {
  if (!(limitDeg > 0 && limitDeg <= 90)) throw new SurveyError('limit_out_of_range', 'limit_deg');
  const kept = checked(readings, startChainageM);
  if (kept.length === 0) return [];
  const [first, last] = [kept[0], kept[kept.length - 1]];
  const points = [...kept];
  if (first.chainage_m > startChainageM) points.unshift({ ...first, chainage_m: startChainageM });
  if (endChainageM !== null && endChainageM > last.chainage_m) points.push({ ...last, chainage_m: endChainageM });
  const least = Math.sin(limitDeg * Math.PI / 180);
  let low = startLevelM;
  let high = startLevelM;
  let bounded = false;
  /** @type {Station[]} */
  const stations = [{ chainage_m: points[0].chainage_m, low_m: low, high_m: high, known: 'computed' }];
  for (let i = 1; i < points.length; i += 1) {
    const [before, here] = [points[i - 1], points[i]];
    const step = here.chainage_m - before.chainage_m;
    const [a0, b0] = sines(before, least);
    const [a1, b1] = sines(here, least);
    low += step * (a0 + a1) / 2;
    high += step * (b0 + b1) / 2;
    bounded = bounded || (step > 0 && Boolean(before.over || here.over));
    const read = before.chainage_m >= first.chainage_m && here.chainage_m <= last.chainage_m;
    const known = bounded ? 'bounded' : read ? 'computed' : 'assumed';
    stations.push({ chainage_m: here.chainage_m, low_m: low, high_m: high, known });
  }
  return stations;
}

/** @param {Reading[]} readings @param {number} startChainageM @returns {Reading[]} */
function checked(readings, startChainageM) {
  return readings.filter((reading, index) => {
    if (reading.deg === null && reading.over !== 1 && reading.over !== -1) {
      throw new SurveyError('reading_incomplete', 'readings', index);
    }
    if (index && reading.chainage_m < readings[index - 1].chainage_m) {
      throw new SurveyError('chainage_not_ascending', 'readings', index);
    }
    return reading.chainage_m >= startChainageM;
  });
}

/** Smallest and greatest rise per metre that the reading allows. @param {Reading} reading @param {number} least @returns {[number, number]} */
function sines(reading, least) {
  if (reading.deg !== null) {
    const sine = Math.sin(reading.deg * Math.PI / 180);
    return [sine, sine];
  }
  return Number(reading.over) > 0 ? [least, 1] : [-1, -least];
}
