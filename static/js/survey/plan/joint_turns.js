/**
 * How far the unread angles of joints may move the points of a trace. Twin of
 * webapp/survey/plan/joint_turns.py.
 */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';

/** @typedef {[number, number]} Part */
/** @typedef {import('./joints.js').Joint} Joint */

const RADIAN = Math.PI / 180;
const SHORTER = 1.25; // times the variance of the bearing along a leg

/**
 * @param {Part[]} placesM @param {number[]} bearingsDeg @param {number[]} chainagesM @param {Joint[]} joints
 * @returns {Part[][]} of each point its shift by one sd of each cause
 */
export function jointParts(placesM, bearingsDeg, chainagesM, joints) {
  check(joints, chainagesM[chainagesM.length - 1]);
  /** @type {Part[][]} */
  const parts = placesM.map(() => []);
  let at = 0;
  for (const [leg, bearing] of bearingsDeg.entries()) {
    const last = leg === bearingsDeg.length - 1;
    /** @type {Array<[number, number]>} */
    const own = [];
    for (; at < joints.length && (last || joints[at].chainage_m < chainagesM[leg + 1]); at += 1) {
      own.push([(joints[at].sd_deg * RADIAN) ** 2, joints[at].chainage_m - chainagesM[leg]]);
    }
    add(parts, placesM, leg, [Math.sin(bearing * RADIAN), Math.cos(bearing * RADIAN)], own);
  }
  return parts;
}

/**
 * How much nearer the points may lie because legs do not go quite where they point.
 * @param {number[]} bearingsDeg
 * @param {number[]} chainagesM
 * @param {number[]} turnSdsDeg
 * @param {Joint[]} joints
 * @returns {Part[]}
 */
export function shorteningParts(bearingsDeg, chainagesM, turnSdsDeg, joints) {
  let [variance, e, n, at] = [0, 0, 0, 0];
  /** @type {Part[]} */
  const parts = [[0, 0]];
  for (const [leg, bearing] of bearingsDeg.entries()) {
    const last = leg === bearingsDeg.length - 1;
    const end = chainagesM[leg + 1];
    variance += (turnSdsDeg[leg] * RADIAN) ** 2;
    let along = (end - chainagesM[leg]) * variance;
    for (; at < joints.length && (last || joints[at].chainage_m < end); at += 1) {
      const own = (joints[at].sd_deg * RADIAN) ** 2;
      along += (end - joints[at].chainage_m) * own;
      variance += own;
    }
    e += SHORTER * along * Math.sin(bearing * RADIAN);
    n += SHORTER * along * Math.cos(bearing * RADIAN);
    parts.push([e, n]);
  }
  return parts;
}

/**
 * The two causes of one leg; own are variances and offsets of its joints.
 * @param {Part[][]} parts
 * @param {Part[]} places
 * @param {number} leg
 * @param {Part} ahead
 * @param {Array<[number, number]>} own
 */
function add(parts, places, leg, [sin, cos], own) {
  let [whole, moment, spreadM] = [0, 0, 0];
  for (const [weight, offset] of own) {
    whole += weight;
    moment += weight * offset;
  }
  if (whole <= 0) return;
  const centre = moment / whole;
  for (const [weight, offset] of own) spreadM += weight * (offset - centre) * (offset - centre);
  const [turn, across] = [Math.sqrt(whole), Math.sqrt(spreadM)];
  const [e0, n0] = [places[leg][0] + centre * sin, places[leg][1] + centre * cos];
  for (const [k, [e, n]] of places.entries()) {
    const beyond = k > leg;
    parts[k].push(
      beyond ? [(n - n0) * turn, -(e - e0) * turn] : [0, 0],
      beyond ? [-across * cos, across * sin] : [0, 0]
    );
  }
}

/** @param {Joint[]} joints @param {number} lengthM */
function check(joints, lengthM) {
  let last = 0;
  for (const [index, joint] of joints.entries()) {
    spread(joint.sd_deg, 'joints', index);
    const chainage = finite(joint.chainage_m, 'joints', index);
    if (!(chainage >= 0 && chainage <= lengthM)) throw new SurveyError('joint_outside_run', 'joints', index);
    if (chainage < last) throw new SurveyError('joint_not_ascending', 'joints', index);
    last = chainage;
  }
}
