/**
 * Levels of a length that was surveyed from both ends: open where nothing was surveyed. Twin of
 * webapp/survey/lengths/levels_both_ends.py.
 */
import { NOT_READ } from '../levels/input.js';

/** @typedef {[number, number]} Span */
/** @typedef {import('../levels/run_model.js').RunModel} RunModel */

export const NOT_SURVEYED = 'not surveyed'; // stands for the id of a reading that nobody took

/** @param {RunModel} model @param {Span[]} between @returns {[RunModel, Span[]]} */
export function withUnsurveyed(model, between) {
  const readings = [...model.readings];
  const ids = [...model.reading_ids];
  /** @type {Span[]} */
  const assumed = [];
  if (readings.length === 0) return [model, assumed];
  for (const [from, to] of between) {
    const at = readings.filter((one) => one.chainage_m <= from).length;
    if (at > 0 && readings[at - 1].chainage_m < from) assumed.push([readings[at - 1].chainage_m, from]);
    if (at < readings.length && readings[at].chainage_m > to) assumed.push([to, readings[at].chainage_m]);
    readings.splice(at, 0, {
      chainage_m: from,
      deg: null,
      over: NOT_READ,
      sd_deg: null,
      to_m: to,
      turned: false
    });
    ids.splice(at, 0, NOT_SURVEYED);
  }
  return [{ ...model, readings, reading_ids: ids }, assumed];
}

/**
 * @template {{stations: Array<{known: string, chainage_m: number}>}} P
 * @param {P} profile
 * @param {Span[]} spans
 * @returns {P}
 */
export function withAssumed(profile, spans) {
  const stations = profile.stations.map((one) =>
    one.known === 'computed' && spans.some(([a, b]) => a <= one.chainage_m && one.chainage_m <= b)
      ? { ...one, known: 'assumed' }
      : one
  );
  return { ...profile, stations };
}
