/** Which level would settle a rise beyond the range; does the counter agree. Twin of webapp/survey/leave_levels.py. */
import { SurveyError } from './errors.js';
import { ASSUMED } from './instruments.js';
import { openItem } from './leave_item.js';
import { whatWouldATieSettle } from './length_table.js';
import { levelProfile } from './levels.js';
import { runExtent } from './run_extent.js';
import { runModel } from './run_model.js';

/** @typedef {import('./instruments.js').Item} Item */
/** @typedef {import('./instruments.js').Instruments} Instruments */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('./level_input.js').LevelReading} LevelReading */
/** @typedef {import('./run_model.js').RunModel} RunModel */
/** @typedef {Object<string, any>} Fields */
/** @typedef {Object<string, Item[]>} Parts */

/** @param {string} runId @param {Fields} run @param {Parts} parts @param {Item[]} nodes @param {Instruments} tools @returns {OpenItem[]} */
export function unsettledRises(runId, run, parts, nodes, tools) {
  const model = runModel(run, parts.reading, parts.level_tie, parts.stretch, nodes, tools);
  if (model.readings.every((reading) => reading.over === 0)) return [];
  try {
    const profile = levelProfile(model.readings, model.ties, model.setup);
    return openGroups(model, profile).map(([first, last]) => itemOf(runId, model, first, last, tools.scale));
  } catch (error) {
    if (error instanceof SurveyError) return [];
    throw error;
  }
}

/** @param {string} runId @param {Fields} run @param {Item[]} readings @param {Item[]} observations @param {Instruments} tools @returns {OpenItem[]} */
export function counterItems(runId, run, readings, observations, tools) {
  const extent = runExtent(run, readings, observations, tools);
  const check = extent.far_check;
  if (check === null || !check.flagged) return [];
  return [openItem('counter_off', runId, 'run', runId, 'expected_length_m', {
    surveyed_m: extent.surveyed_m, expected_m: extent.expected_m,
    difference_m: Math.abs(check.difference_m), allowed_m: check.allowed_m,
  })];
}

/**
 * First and last reading of each part of the run that holds rises seen by no pair of ties.
 * @param {RunModel} model @param {import('./levels.js').LevelProfile} profile @returns {Array<[number, number]>}
 */
function openGroups(model, profile) {
  const places = model.ties.map((tie) => tie.chainage_m);
  /** @type {Map<number, [number, number]>} */
  const groups = new Map();
  for (const gap of profile.gaps) {
    if (gap.status !== 'open') continue;
    const at = model.readings[gap.reading].chainage_m;
    const part = places.filter((place) => place <= at).length;
    groups.set(part, [groups.get(part)?.[0] ?? gap.reading, gap.reading]);
  }
  return [...groups.keys()].sort((a, b) => a - b).map((part) => /** @type {[number, number]} */ (groups.get(part)));
}

/**
 * The open item of one part, with the first of three remedies that settles it.
 * @param {string} runId @param {RunModel} model @param {number} first @param {number} last @param {number} scale @returns {OpenItem}
 */
function itemOf(runId, model, first, last, scale) {
  const [beginM, behindM] = [knownBeforeM(model.readings, first), knownBehindM(model.readings, last)];
  const counterM = (/** @type {number} */ chainageM) => chainageM / scale + model.zero_m;
  let code = 'rise_needs_both_levels';
  let tieM = behindM;
  if (settles(model, behindM, beginM, behindM)) code = 'rise_needs_far_level';
  else if (beginM > 0 && settles(model, 0, beginM, behindM)) [code, tieM] = ['rise_needs_start_level', 0];
  const values = { from_m: counterM(beginM), to_m: counterM(behindM), tie_m: counterM(tieM) };
  return openItem(code, runId, 'level_tie', null, 'invert_level_m', values);
}

/** Up to where the inclination is known before such a reading. @param {LevelReading[]} readings @param {number} first @returns {number} */
function knownBeforeM(readings, first) {
  for (let k = first - 1; k >= 0; k -= 1) {
    if (readings[k].over === 0) return readings[k].to_m ?? readings[k].chainage_m;
  }
  return 0;
}

/** From where it is known again behind such a reading. @param {LevelReading[]} readings @param {number} last @returns {number} */
function knownBehindM(readings, last) {
  for (let k = last + 1; k < readings.length; k += 1) {
    if (readings[k].over === 0) return readings[k].chainage_m;
  }
  const end = readings[readings.length - 1];
  return end.to_m ?? end.chainage_m;
}

/** Would a level there leave nothing bounded outside this part of the run? @param {RunModel} model @param {number} tieM @param {number} beginM @param {number} behindM @returns {boolean} */
function settles(model, tieM, beginM, behindM) {
  const found = whatWouldATieSettle(model.readings, model.ties, model.setup, tieM, ASSUMED.tie_sd_m);
  return found.chainage_m.every((place, k) => (place > beginM && place < behindM) || found.known[k] !== 'bounded');
}
