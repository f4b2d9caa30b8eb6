/** Bends in plan from the observations of a run. Twin of webapp/survey/bends.py. */
import { findCode } from './codes.js';
import { chainageM } from './counter.js';
import { SurveyError } from './errors.js';
import { finite, spread } from './finite.js';

/** @typedef {Object<string, any>} Fields */
/** @typedef {{id: string, chainage_m: number, deflection_deg: number, sd_deg: number, known: string}} PlanBend */
/** @typedef {{id: any, at: number | null, angle: number | null, side: number | null, slanting: boolean, sd: number}} Draft */

const BEND = 'BCC';
// a bend that turns up or down as well: its roll about the pipe is anywhere in a quarter turn
const SHARE = 2 / Math.PI;
const NEAR_M = 2; // readings nearer than this on both sides tell it better; common practice, no source
const SHARE_SD = Math.sqrt(0.5 - 4 / (Math.PI * Math.PI));
const RADIAN = Math.PI / 180;

/**
 * @param {Fields[]} rows
 * @param {Fields[]} observations
 * @param {number} counterZeroM
 * @param {number} scale
 * @param {number} sdDeg
 * @param {import('./profile.js').Reading[]} [readings] in ascending chainage
 * @param {number} [readingSdDeg]
 * @returns {{bends: PlanBend[], left_out: Array<{id: string, code: string}>}}
 */
export function bendsOf(rows, observations, counterZeroM, scale, sdDeg, readings = [], readingSdDeg = 0) {
  const sd = spread(sdDeg, 'sd_deg');
  const row = findCode(rows, BEND);
  /** @type {Draft[]} */
  const drafts = [];
  /** @type {Map<any, Draft>} */
  const starts = new Map();
  for (const [index, record] of observations.entries()) {
    const { fields } = record;
    if (fields.code !== BEND || !row || onlyVertical(row, fields)) continue;
    const bend = draftOf(row, record, counterZeroM, scale, sd, index);
    const number = fields.continuous?.number ?? null;
    const role = fields.continuous?.role || '';
    const start = starts.get(number);
    if (role === 'finish' && start) {
      close(start, bend);
      starts.delete(number);
    } else if (role === '' || role === 'start' || role === 'finish') {
      drafts.push(bend);
      if (role === 'start') starts.set(number, bend);
    }
  }
  const bends = [];
  const leftOut = [];
  for (const bend of drafts) {
    const fault = faultOf(bend);
    if (fault) leftOut.push({ id: bend.id, code: fault });
    else bends.push(signed(bend, readings, readingSdDeg));
  }
  bends.sort((a, b) => a.chainage_m - b.chainage_m);
  return { bends, left_out: leftOut };
}

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
  const square = Math.sin((turned + rise) / 2 * RADIAN) * Math.sin((turned - rise) / 2 * RADIAN) / flat;
  if (square < 0) return null;
  return 2 * (Math.asin(Math.sqrt(Math.min(1, square))) / RADIAN);
}

/** @param {Fields} row @param {Fields} record @param {number} zeroM @param {number} scale @param {number} sd @param {number} index @returns {Draft} */
function draftOf(row, record, zeroM, scale, sd, index) {
  const { fields } = record;
  const counter = fields.counter_m ?? null;
  const angle = fields.quantification_1 ?? null;
  const at = counter === null ? null : chainageM(finite(counter, 'observations', index), zeroM, scale);
  if (angle !== null && !(finite(angle, 'observations', index) >= 0 && angle <= 180)) {
    throw new SurveyError('bend_angle_out_of_range', 'observations', index);
  }
  const slanting = Boolean(choiceOf(row, 'characterisation_2', fields.characterisation_2));
  return { id: record.id ?? null, at, angle, side: sideOf(row, fields.characterisation_1), slanting, sd };
}

/** Put the finish of a continuous bend into its start. @param {Draft} start @param {Draft} finish */
function close(start, finish) {
  if (start.at !== null && finish.at !== null) start.at = (start.at + finish.at) / 2;
  if (start.angle === null) start.angle = finish.angle;
  if (start.side === null) start.side = finish.side;
}

/** @param {Draft} bend @returns {string | null} */
function faultOf(bend) {
  if (bend.at === null) return 'bend_without_counter';
  if (bend.side === null) return 'bend_without_side';
  return bend.angle === null ? 'bend_without_angle' : null;
}

/** @param {Draft} bend @param {import('./profile.js').Reading[]} readings @param {number} readingSd @returns {PlanBend} */
function signed(bend, readings, readingSd) {
  const turned = Number(bend.angle);
  const angle = Number(bend.side) * turned;
  const plain = { id: bend.id, chainage_m: Number(bend.at), deflection_deg: angle, sd_deg: bend.sd, known: 'measured' };
  if (!bend.slanting) return plain;
  const loose = SHARE_SD * turned;
  const least = Math.sqrt(bend.sd * bend.sd + loose * loose);
  const told = toldBy(bend, readings, readingSd);
  if (told !== null && told[1] < least) return { ...plain, deflection_deg: Number(bend.side) * told[0], sd_deg: told[1], known: 'computed' };
  return { ...plain, deflection_deg: SHARE * angle, sd_deg: least, known: 'assumed' };
}

/** The deflection in plan and its spread, from the inclinations close to both sides.
 * @param {Draft} bend @param {import('./profile.js').Reading[]} readings @param {number} readingSd @returns {[number, number] | null} */
function toldBy(bend, readings, readingSd) {
  const [at, turned] = [Number(bend.at), Number(bend.angle)];
  const before = readings.findLast((one) => one.chainage_m <= at);
  const after = readings.find((one) => one.chainage_m > at);
  if (!before || !after || before.deg === null || after.deg === null) return null;
  if (at - before.chainage_m > NEAR_M || after.chainage_m - at > NEAR_M) return null;
  const plan = deflectionInPlanDeg(turned, before.deg, after.deg);
  if (plan === null) return null;
  const scale = Math.cos(before.deg * RADIAN) * Math.cos(after.deg * RADIAN) * Math.sin(plan * RADIAN);
  if (scale < 1e-6) return null;
  const byAngle = Math.sin(turned * RADIAN) / scale * bend.sd;
  const byRise = Math.sin((after.deg - before.deg) * RADIAN) / scale * readingSd;
  return [plan, Math.sqrt(byAngle * byAngle + 2 * byRise * byRise)];
}

/** @param {Fields} row @param {Fields} fields @returns {boolean} */
function onlyVertical(row, fields) {
  return !fields.characterisation_1 && Boolean(choiceOf(row, 'characterisation_2', fields.characterisation_2));
}

/** @param {Fields} row @param {any} value @returns {number | null} */
function sideOf(row, value) {
  const label = choiceOf(row, 'characterisation_1', value);
  if (label.includes('right')) return 1;
  return label.includes('left') ? -1 : null;
}

/** @param {Fields} row @param {string} field @param {any} value @returns {string} */
function choiceOf(row, field, value) {
  const choice = row[field].find((/** @type {Fields} */ c) => c.value === value);
  return choice ? String(choice.label).toLowerCase() : '';
}
