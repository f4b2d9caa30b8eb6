/**
 * Levels of a length that was surveyed from both ends: open where nothing was surveyed. Twin of
 * webapp/survey/lengths/levels_both_ends.py.
 */
import { NOT_READ } from '../levels/input.js';

/** @typedef {[number, number]} Span */
/** @typedef {import('../levels/run_model.js').RunModel} RunModel */
/** @typedef {import('../levels/input.js').LevelReading} LevelReading */

export const NOT_SURVEYED = 'not surveyed'; // stands for the id of a reading that nobody took

/** @param {RunModel} model @param {Span[]} between @returns {[RunModel, Span[]]} */
export function withUnsurveyed(model, between) {
  let readings = [...model.readings];
  const ids = [...model.reading_ids];
  /** @type {Span[]} */
  const assumed = [];
  if (readings.length === 0) return [model, assumed];
  if (model.setup.mode === 'course') return withGaps(model, between);
  for (const [from, to] of between) {
    readings = readings.map((one) => outside(one, from, to));
    const at = readings.filter((one) => one.chainage_m <= from).length;
    if (at > 0 && reach(readings[at - 1]) < from) {
      assumed.push([reach(readings[at - 1]), from]);
      readings[at - 1] = { ...readings[at - 1], to_m: from };
    }
    if (at < readings.length && readings[at].chainage_m > to) {
      assumed.push([to, readings[at].chainage_m]);
      readings[at] = { ...readings[at], chainage_m: to, to_m: reach(readings[at]) };
    }
    readings.splice(at, 0, notRead(from, to));
    ids.splice(at, 0, NOT_SURVEYED);
  }
  return [{ ...model, readings, reading_ids: ids }, assumed];
}

/**
 * The same where the course of the run says how the pipe goes on beyond a reading.
 * @param {RunModel} model @param {Span[]} between @returns {[RunModel, Span[]]}
 */
function withGaps(model, between) {
  const [readings, ids] = [[...model.readings], [...model.reading_ids]];
  /** @type {Span[]} */
  const assumed = [];
  for (const [from, to] of between) {
    const at = readings.filter((one) => one.chainage_m <= from).length;
    if (at > 0 && readings[at - 1].chainage_m < from) assumed.push([readings[at - 1].chainage_m, from]);
    if (at < readings.length && readings[at].chainage_m > to) assumed.push([to, readings[at].chainage_m]);
    readings.splice(at, 0, notRead(from, to));
    ids.splice(at, 0, NOT_SURVEYED);
  }
  return [{ ...model, readings, reading_ids: ids }, assumed];
}

/** @param {number} from @param {number} to @returns {LevelReading} */
function notRead(from, to) {
  return { chainage_m: from, deg: null, over: NOT_READ, sd_deg: null, to_m: to, turned: false };
}

/** @param {LevelReading} reading @returns {number} */
function reach(reading) {
  return reading.to_m ?? reading.chainage_m;
}

/**
 * A reading whose single pipe lies partly in a length, cut at its ends.
 * @param {LevelReading} reading
 * @param {number} from
 * @param {number} to
 * @returns {LevelReading}
 */
function outside(reading, from, to) {
  if (from < reading.chainage_m && reading.chainage_m < to)
    return { ...reading, chainage_m: to, to_m: reach(reading) <= to ? null : reach(reading) };
  if (reading.chainage_m <= from && from < reach(reading)) return { ...reading, to_m: from };
  return reading;
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
