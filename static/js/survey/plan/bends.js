/** Bends and angled joints in plan from the observations of a run. Twin of webapp/survey/plan/bends.py. */
import { findCode } from '../coding/codes.js';
import { chainageM } from '../instruments/counter.js';
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';
import { BEND, isAChoice, onlyVertical, sideOf, turnsAJoint } from './turns.js';
import { NO_SLOPES, deflectionFromReadings } from './deflection.js';

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/tables.js').ObservationCode} CodeRow */
/** @typedef {import('./deflection.js').SlopeReadings} SlopeReadings */

/**
 * @typedef {{id: string, chainage_m: number, deflection_deg: number, sd_deg: number, known: string, joint:
 *   boolean}} PlanBend
 */
/** @typedef {{id: string, code: string}} LeftOutBend */
/** @typedef {{id: string, chainage_m: number, sd_deg: number}} LooseTurn */
/** @typedef {{bends: PlanBend[], left_out: LeftOutBend[], loose: LooseTurn[]}} Bends */
/**
 * @typedef {{id: string, kind: 'bend' | 'joint', at: number | null, over_m: number | null, angle:
 *   number | null, side: number | null, slanting: boolean, sd: number}} Draft
 */

// a bend that turns up or down as well: its roll about the pipe is anywhere in a quarter turn
const SHARE = 2 / Math.PI;
const SHARE_SD = Math.sqrt(0.5 - 4 / (Math.PI * Math.PI));
// of turns_to: which side, and whether it goes up or down as well
/** @type {Object<string, [number, boolean]>} */
const DIRECTIONS = {
  left: [-1, false],
  left_up: [-1, true],
  left_down: [-1, true],
  right: [1, false],
  right_up: [1, true],
  right_down: [1, true]
};
const VERTICAL = ['up', 'down'];
const UNREAD_DEG = { bend: 30, joint: 6 }; // an angle seen and not recorded; own working, no source
const JOINT_SD_DEG = 1; // an angle at a joint is read to half of itself, never better than this
const JOINT_EVERY_M = 2; // where angled joints were recorded over a length

/**
 * @param {CodeRow[]} rows
 * @param {ObservationRecord[]} observations
 * @param {number} counterZeroM
 * @param {number} scale
 * @param {number} sdDeg
 * @param {SlopeReadings} [slopes]
 * @returns {Bends}
 */
export function bendsOf(rows, observations, counterZeroM, scale, sdDeg, slopes = NO_SLOPES) {
  const sd = spread(sdDeg, 'sd_deg');
  /** @type {Draft[]} */
  const drafts = [];
  /** @type {Map<string, Draft>} */
  const starts = new Map();
  for (const [index, record] of observations.entries()) {
    const draft = draftOf(rows, record, counterZeroM, scale, sd, index);
    if (draft === null) continue;
    const role = record.fields.continuous?.role || '';
    const key = `${draft.kind} ${record.fields.continuous?.number ?? null}`;
    const start = starts.get(key);
    if (role === 'finish' && start) {
      close(start, draft);
      starts.delete(key);
    } else if (role === '' || role === 'start' || role === 'finish') {
      drafts.push(draft);
      if (role === 'start') starts.set(key, draft);
    }
  }
  const bends = [];
  const leftOut = [];
  const loose = [];
  for (const draft of drafts) {
    const fault = faultOf(draft);
    if (fault === null) {
      bends.push(signed(draft, slopes));
      continue;
    }
    leftOut.push({ id: draft.id, code: fault });
    if (draft.at !== null) loose.push({ id: draft.id, chainage_m: draft.at, sd_deg: looseDeg(draft) });
  }
  bends.sort((a, b) => a.chainage_m - b.chainage_m);
  loose.sort((a, b) => a.chainage_m - b.chainage_m);
  return { bends, left_out: leftOut, loose };
}

/**
 * An observation as a bend, if it is one in plan; side, angle and chainage may still be missing.
 * @param {CodeRow[]} rows
 * @param {ObservationRecord} record
 * @param {number} zeroM
 * @param {number} scale
 * @param {number} sd
 * @param {number} index
 * @returns {Draft | null}
 */
function draftOf(rows, record, zeroM, scale, sd, index) {
  const { fields } = record;
  const row = findCode(rows, fields.code ?? '');
  if (row === null) return null;
  /** @type {Draft} */
  const draft = {
    id: record.id,
    kind: 'bend',
    at: null,
    over_m: null,
    angle: fields.quantification_1 ?? null,
    side: null,
    slanting: false,
    sd
  };
  if (turnsAJoint(row, fields)) {
    if (VERTICAL.includes(fields.turns_to ?? '')) return null;
    const [side, slanting] = DIRECTIONS[fields.turns_to ?? ''] ?? [null, false];
    Object.assign(draft, { kind: 'joint', side, slanting });
  } else if (row.code === BEND && !onlyVertical(row, fields)) {
    draft.side = sideOf(row, fields.characterisation_1);
    draft.slanting = isAChoice(row, 'characterisation_2', fields.characterisation_2);
  } else return null;
  const counter = fields.counter_m ?? null;
  draft.at = counter === null ? null : chainageM(finite(counter, 'observations', index), zeroM, scale);
  if (
    draft.angle !== null &&
    !(finite(draft.angle, 'observations', index) >= 0 && draft.angle <= 180) &&
    draft.kind === 'bend'
  ) {
    throw new SurveyError('bend_angle_out_of_range', 'observations', index);
  }
  return draft;
}

/** Put the finish of something continuous into its start. @param {Draft} start @param {Draft} finish */
function close(start, finish) {
  if (start.at !== null && finish.at !== null) {
    start.over_m = Math.abs(finish.at - start.at);
    start.at = (start.at + finish.at) / 2;
  }
  if (start.angle === null) start.angle = finish.angle;
  if (start.side === null) start.side = finish.side;
}

/** @param {Draft} draft @returns {string | null} */
function faultOf(draft) {
  if (draft.at === null) return 'bend_without_counter';
  if (draft.kind === 'bend') {
    if (draft.side === null) return 'bend_without_side';
    return draft.angle === null ? 'bend_without_angle' : null;
  }
  if (draft.angle === null) return 'joint_without_angle';
  if (!(draft.angle >= 0 && draft.angle <= 90)) return 'joint_angle_out_of_range';
  if (draft.over_m) return 'joint_angle_over_length';
  return draft.side === null ? 'joint_without_direction' : null;
}

/**
 * How far something may turn the line of which the angle, the side or the number of joints is not known.
 * @param {Draft} draft
 * @returns {number}
 */
function looseDeg(draft) {
  const unread =
    draft.angle === null ||
    !(draft.angle >= 0 && draft.angle <= 180) ||
    (draft.kind === 'joint' && draft.angle > 90);
  const angle = unread ? UNREAD_DEG[draft.kind] : Number(draft.angle);
  const joints = draft.kind === 'joint' && draft.over_m ? 1 + Math.floor(draft.over_m / JOINT_EVERY_M) : 1;
  const turned = Math.min(180, angle * joints);
  const sd = readSd(draft.kind, angle, draft.sd);
  return Math.sqrt(turned * turned + sd * sd);
}

/** @param {'bend' | 'joint'} kind @param {number} angle @param {number} sd @returns {number} */
function readSd(kind, angle, sd) {
  return kind === 'bend' ? sd : Math.min(sd, Math.max(JOINT_SD_DEG, angle / 2));
}

/**
 * @param {Draft} bend
 * @param {SlopeReadings} slopes
 * @returns {PlanBend}
 */
function signed(bend, slopes) {
  const turned = Number(bend.angle);
  const angle = Number(bend.side) * turned;
  const sd = readSd(bend.kind, turned, bend.sd);
  const plain = {
    id: bend.id,
    chainage_m: Number(bend.at),
    deflection_deg: angle,
    sd_deg: sd,
    known: 'measured',
    joint: bend.kind === 'joint'
  };
  if (!bend.slanting) return plain;
  const loose = SHARE_SD * turned;
  const least = Math.sqrt(sd * sd + loose * loose);
  const byReadings = deflectionFromReadings(plain.chainage_m, turned, sd, slopes);
  if (byReadings !== null && byReadings[1] < least)
    return {
      ...plain,
      deflection_deg: Number(bend.side) * byReadings[0],
      sd_deg: byReadings[1],
      known: 'computed'
    };
  return { ...plain, deflection_deg: SHARE * angle, sd_deg: least, known: 'assumed' };
}
