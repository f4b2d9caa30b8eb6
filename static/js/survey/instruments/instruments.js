/**
 * What the instrument checks say, and what is assumed without them. Twin of
 * webapp/survey/instruments/instruments.py.
 */
import { scaleOfChecks } from './counter_scale.js';
import { SurveyError } from '../errors.js';
import { inclinationDeg } from './gradient.js';
import { zeroFromReversal } from './inclinometer.js';

/** @typedef {import('../../records/types.js').CheckRecord} CheckRecord */

/** @typedef {import('../../records/types.js').CheckFields} CheckFields */
/** @typedef {{id: string, fields: import('../../records/types.js').AnyFields}} Item   a record of any kind */
/**
 * @typedef {{scale: number, scale_sd: number, scale_known: string, limit_deg: number, limit_known: string,
 *   sd_deg: number, sd_known: string, zero_deg: number, zero_sd_deg: number, zero_known: string,
 *   cable_length_m: number | null, camera_height_mm: number | null}} Instruments
 */

export const ASSUMED = {
  limit_deg: 10,
  sd_deg: 0.2,
  zero_sd_deg: 0.2,
  scale_sd: 0.005,
  tape_sd_m: 0.02,
  tie_sd_m: 0.01,
  dip_sd_m: 0.01
};

/** @param {CheckRecord[]} checks @param {string} runId @returns {Instruments} */
export function instrumentsOf(checks, runId) {
  const limit = last(checks, runId, 'inclinometer_limit');
  const sdDeg = limit.sd_deg ?? null;
  const [scale, scaleSd] = scaleOf(ofKind(checks, runId, 'counter_tape'));
  const knownSd = sdDeg === null ? ASSUMED.sd_deg : sdDeg;
  const zero = zeroOf(last(checks, runId, 'inclinometer_reversed'), knownSd);
  const limitDeg = limit.limit_deg ?? null;
  return {
    scale: scale === null ? 1 : scale,
    scale_sd: scale === null ? ASSUMED.scale_sd : scaleSd,
    scale_known: scale === null ? 'assumed' : 'computed',
    limit_deg: limitDeg === null ? ASSUMED.limit_deg : limitDeg,
    limit_known: limitDeg === null ? 'assumed' : 'measured',
    sd_deg: knownSd,
    sd_known: sdDeg === null ? 'assumed' : 'measured',
    zero_deg: zero === null ? 0 : zero[0],
    zero_sd_deg: zero === null ? ASSUMED.zero_sd_deg : zero[1],
    zero_known: zero === null ? 'assumed' : 'computed',
    cable_length_m: last(checks, runId, 'cable_length').cable_length_m ?? null,
    camera_height_mm: last(checks, runId, 'camera_height').camera_height_mm ?? null
  };
}

/** The largest inclination that is read, where somebody has checked it.
 * @param {Instruments} instruments @returns {number | null} */
export function checkedLimitDeg(instruments) {
  return instruments.limit_known === 'measured' ? instruments.limit_deg : null;
}

/**
 * @param {CheckRecord[]} checks
 * @param {string} runId
 * @param {string} checkType
 * @returns {CheckFields[]}
 */
function ofKind(checks, runId, checkType) {
  const mine = checks.map((c) => c.fields).filter((f) => f.check_type === checkType);
  const own = mine.filter((f) => f.run_id === runId);
  return own.length ? own : mine.filter((f) => !f.run_id);
}

/**
 * @param {CheckRecord[]} checks
 * @param {string} runId
 * @param {string} checkType
 * @returns {CheckFields}
 */
function last(checks, runId, checkType) {
  return ofKind(checks, runId, checkType).at(-1) ?? {};
}

/** @param {CheckFields[]} fields @returns {[number | null, number]} */
function scaleOf(fields) {
  const tapes = [];
  for (const one of fields) {
    const [start, end, taped] = [
      one.counter_from_m ?? null,
      one.counter_to_m ?? null,
      one.taped_length_m ?? null
    ];
    if (start !== null && end !== null && taped !== null) {
      tapes.push({
        counter_from_m: start,
        counter_to_m: end,
        taped_m: taped,
        sd_m: one.taped_length_sd_m || ASSUMED.tape_sd_m
      });
    }
  }
  try {
    const found = scaleOfChecks(tapes);
    return [found.scale, found.sd];
  } catch (error) {
    if (error instanceof SurveyError) return [null, 0];
    throw error;
  }
}

/** @param {CheckFields} fields @param {number} sdDeg @returns {number[] | null} */
function zeroOf(fields, sdDeg) {
  const [ahead, back] = [fields.reading_forward, fields.reading_reversed];
  if (!ahead || !back) return null;
  const [one, other] = [inclinationDeg(ahead), inclinationDeg(back)];
  if (one === null || other === null) return null;
  return zeroFromReversal(one, other, sdDeg);
}
