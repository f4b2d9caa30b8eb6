/**
 * Which level would settle a rise beyond the range; does the counter agree. Twin of
 * webapp/survey/review/leave_levels.py.
 */
import { openItem } from './leave_item.js';
import { runExtent } from '../plan/run_extent.js';
import { runModel } from '../levels/run_model.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('../levels/input.js').LevelReading} LevelReading */
/** @typedef {import('../levels/run_model.js').RunModel} RunModel */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {Object<string, Item[]>} Parts */

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {Parts} parts
 * @param {NodeRecord[]} nodes
 * @param {Instruments} instruments
 * @returns {OpenItem[]}
 */
export function unsettledRises(runId, run, parts, nodes, instruments) {
  const model = runModel(run, parts.reading, parts.level_tie, parts.stretch, nodes, instruments);
  const ties = model.ties.map((tie) => tie.chainage_m);
  /** @type {Map<number, [number, number]>} */
  const groups = new Map();
  model.readings.forEach((reading, k) => {
    if (reading.over === 0 || seen(ties, ...acts(model.readings, k))) return;
    const part = ties.filter((place) => place <= reading.chainage_m).length;
    groups.set(part, [groups.get(part)?.[0] ?? k, k]);
  });
  return [...groups]
    .sort((a, b) => a[0] - b[0])
    .map(([part, [first, last]]) => itemOf(runId, model, part, first, last, instruments.scale));
}

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {ReadingRecord[]} readings
 * @param {ObservationRecord[]} observations
 * @param {Instruments} instruments
 * @returns {OpenItem[]}
 */
export function counterItems(runId, run, readings, observations, instruments) {
  const extent = runExtent(run, readings, observations, instruments);
  const check = extent.far_check;
  if (check === null || !check.flagged) return [];
  return [
    openItem('counter_off', runId, 'run', runId, 'expected_length_m', {
      surveyed_m: extent.surveyed_m,
      expected_m: extent.expected_m,
      difference_m: Math.abs(check.difference_m),
      allowed_m: check.allowed_m
    })
  ];
}

/**
 * From where to where a reading acts: from the one before it to the one behind it.
 * @param {LevelReading[]} readings
 * @param {number} k
 * @returns {[number, number]}
 */
function acts(readings, k) {
  return [k ? endOf(readings[k - 1]) : 0, readings[k + 1]?.chainage_m ?? Infinity];
}

/** @param {LevelReading} reading @returns {number} */
function endOf(reading) {
  return reading.to_m ?? reading.chainage_m;
}

/** @param {number[]} ties @param {number} beginM @param {number} endM @returns {boolean} */
function seen(ties, beginM, endM) {
  const [first, last] = [Math.min(...ties), Math.max(...ties)];
  return ties.length > 0 && first < endM && last > beginM && first < last;
}

/**
 * The open item of one part: `part` ties lie before it.
 * @param {string} runId
 * @param {RunModel} model
 * @param {number} part
 * @param {number} first
 * @param {number} last
 * @param {number} scale
 * @returns {OpenItem}
 */
function itemOf(runId, model, part, first, last, scale) {
  const [beginM, behindM] = [knownBeforeM(model.readings, first), knownBehindM(model, last)];
  const counterM = (/** @type {number} */ chainageM) => chainageM / scale + model.zero_m;
  let code = 'rise_needs_both_levels';
  let tieM = behindM;
  if (part > 0) code = 'rise_needs_far_level';
  else if (model.ties.length > 0) [code, tieM] = ['rise_needs_start_level', 0];
  const values = { from_m: counterM(beginM), to_m: counterM(behindM), tie_m: counterM(tieM) };
  return openItem(code, runId, 'level_tie', null, 'invert_level_m', values);
}

/**
 * Up to where the inclination is known before such a reading.
 * @param {LevelReading[]} readings
 * @param {number} first
 * @returns {number}
 */
function knownBeforeM(readings, first) {
  for (let k = first - 1; k >= 0; k -= 1) {
    if (readings[k].over === 0) return endOf(readings[k]);
  }
  return 0;
}

/**
 * From where it is known again behind such a reading; the end of the run if it never is.
 * @param {RunModel} model
 * @param {number} last
 * @returns {number}
 */
function knownBehindM({ readings, ties, setup }, last) {
  for (let k = last + 1; k < readings.length; k += 1) {
    if (readings[k].over === 0) return readings[k].chainage_m;
  }
  const end = endOf(readings[readings.length - 1]);
  return Math.max(end, ...ties.map((tie) => tie.chainage_m), setup.end_chainage_m ?? end);
}
