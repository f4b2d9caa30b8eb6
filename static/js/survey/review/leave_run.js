/**
 * Before leaving: what the records of one run lack, or what in them cannot be right. Twin of
 * webapp/survey/review/leave_run.py.
 */
import { checkObservation } from '../coding/codes.js';
import { turnLacks } from '../plan/turns.js';
import { continuousItems } from '../coding/continuous.js';
import { openItem } from './leave_item.js';
import { SAME_PLACE_M, finishM } from './leave_lengths.js';
import { photoFaults } from './photo_quality.js';
import { FINISH_CODE, startOffM, recordedEnd } from '../coding/run_end.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('./leave_item.js').LeaveRules} LeaveRules */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').PhotoRecord} PhotoRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {Object<string, Item[]>} Parts */

const LATER_MARKS = ['change', 'finish'];
const SAME_END_M = 0.1; // own choice, no source

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {ObservationRecord[]} observations
 * @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
export function endItems(runId, run, observations, rules) {
  const seen = observations.map((one) => one.fields.code);
  const [reached, givenUp] = [seen.includes(rules.finish_code), seen.includes(rules.abandoned_code)];
  const [reason, endM] = [run.end_reason, run.end_counter_m ?? null];
  /** @type {OpenItem[]} */
  const found = [];
  if (!seen.includes(rules.start_code))
    found.push(openItem('start_missing', runId, 'observation', null, 'code', { code: rules.start_code }));
  for (const { id, fields } of observations) {
    const offM = startOffM(run, fields);
    if (offM !== null)
      found.push(
        openItem('start_misplaced', runId, 'observation', id, 'counter_m', {
          counter_m: fields.counter_m,
          off_m: offM
        })
      );
  }
  if (!reason && endM === null && !reached && !givenUp) {
    found.push(openItem('end_missing', runId, 'run', runId, 'end_reason', {}));
  } else if (
    (!reason && !reached) ||
    (reason === 'other' && !run.remark && run.end_reason_from !== 'observation')
  ) {
    found.push(openItem('end_reason_missing', runId, 'run', runId, reason ? 'remark' : 'end_reason', {}));
  }
  if (reason && endM === null && !reached && !givenUp)
    found.push(openItem('end_place_missing', runId, 'run', runId, 'end_counter_m', {}));
  return [...found, ...contradictions(runId, run, observations)];
}

/** End of run, and an observation of the same end, that tell of different ends.
 * @param {string} runId
 * @param {RunFields} run
 * @param {ObservationRecord[]} observations
 * @returns {OpenItem[]} */
function contradictions(runId, run, observations) {
  const one = recordedEnd(observations);
  if (!one) return [];
  const { code, counter_m: atM } = one.fields;
  const [reason, endM] = [run.end_reason, run.end_counter_m ?? null];
  /** @type {OpenItem[]} */
  const found = [];
  if (reason && (code === FINISH_CODE) !== (reason === 'node_reached'))
    found.push(openItem('end_reason_differs', runId, 'run', runId, 'end_reason', { code }));
  if (endM !== null && Number(atM) < endM - SAME_END_M)
    found.push(
      openItem('end_place_differs', runId, 'run', runId, 'end_counter_m', {
        code,
        counter_m: atM,
        end_m: endM
      })
    );
  return found;
}

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {Parts} parts
 * @param {import('../../records/tables.js').ObservationCode[]} codeRows
 * @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
export function seenItems(runId, run, parts, codeRows, rules) {
  const { observation: observations, photo: photos } = parts;
  /** @type {OpenItem[]} */
  const found = [];
  for (const one of continuousItems(observations, run.end_counter_m ?? null).items) {
    if (!one.open) continue;
    const values = { code: one.code, number: one.number, from_m: one.from_counter_m };
    found.push(openItem('continuous_open', runId, 'observation', one.start_id, 'continuous', values));
  }
  const end = finishM(run, observations, rules);
  const shown = new Set(photos.map((photo) => photo.fields.belongs_to));
  for (const one of observations) found.push(...ofObservation(runId, one, end, shown, codeRows, rules));
  for (const { id, fields } of parts.level_tie ?? []) {
    const atM = fields.counter_m ?? null;
    if (atM !== null && end !== null && atM > end + SAME_PLACE_M) {
      found.push(
        openItem('tie_beyond_finish', runId, 'level_tie', id, 'counter_m', { counter_m: atM, finish_m: end })
      );
    }
  }
  return [...found, ...photoItems(runId, photos, rules)];
}

/**
 * @param {string | null} runId @param {PhotoRecord[]} photos @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
export function photoItems(runId, photos, rules) {
  return photos.flatMap((one) =>
    photoFaults(one.fields, rules.photo).map((code) =>
      openItem(code, runId, 'photo', one.id, 'shows_enough', {})
    )
  );
}

/**
 * @param {string} runId
 * @param {Item} one
 * @param {number | null} end
 * @param {Set<unknown>} shown
 * @param {import('../../records/tables.js').ObservationCode[]} codeRows
 * @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
function ofObservation(runId, { id, fields }, end, shown, codeRows, rules) {
  /** @type {OpenItem[]} */
  const found = [];
  const [code, atM] = [fields.code || '', fields.counter_m ?? null];
  const later = LATER_MARKS.includes(fields.continuous?.role ?? '');
  if (atM !== null && end !== null && atM > end + SAME_PLACE_M) {
    found.push(
      openItem('beyond_finish', runId, 'observation', id, 'counter_m', {
        code,
        counter_m: atM,
        finish_m: end
      })
    );
  }
  if (!later && checkObservation(codeRows, fields).some((f) => f.code === 'clock_missing')) {
    found.push(openItem('clock_missing', runId, 'observation', id, 'clock', { code }));
  }
  for (const field of later ? [] : turnLacks(codeRows, fields)) {
    const lack = field === 'quantification_1' ? 'angle_missing' : 'direction_missing';
    found.push(openItem(lack, runId, 'observation', id, field, { code }));
  }
  if (!later && rules.photo_codes.includes(code) && !shown.has(id))
    found.push(openItem('photo_missing', runId, 'observation', id, 'photo', { code }));
  return found;
}
