/** Findings on a run: what is unlikely, never refused. Twin of webapp/survey/review/plausibility.py. */
import { checkObservation } from '../coding/codes.js';
import { continuousItems } from '../coding/continuous.js';
import { shownM } from '../instruments/counter_resets.js';
import { SurveyError } from '../errors.js';
import { inclinationDeg } from '../instruments/gradient.js';
import { startOffM } from '../coding/run_end.js';
import { choice, message, numberText } from '../wording/messages.js';
import { unitText } from '../wording/quantities.js';

/** @typedef {import('../wording/messages.js').Words} Words */

/** @typedef {import('../../records/types.js').RunFields} RunFields */

/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').LevelTieRecord} LevelTieRecord */
/** @typedef {import('../../records/types.js').RemarkRecord} RemarkRecord */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../coding/codes.js').Finding} Finding */
/** @typedef {Finding & {record_id: string}} RecordFinding */
/**
 * @typedef {{id: string, fields: {counter_m?: number | null, from_counter_m?: number | null}}} PlacedRecord
 * @typedef {{run: RunFields, readings: ReadingRecord[], observations: ObservationRecord[], others:
 *   Array<LevelTieRecord | StretchRecord | RemarkRecord>, cable_length_m: number | null, limit_deg: number |
 *   null}} FindingFacts   in the order of their making; limit_deg null where nobody has checked it
 */

/**
 * @param {FindingFacts} facts
 * @param {import('../../records/tables.js').ObservationCode[]} codeRows
 * @returns {RecordFinding[]}
 */
export function runFindings(facts, codeRows) {
  const { run, readings, observations, others, cable_length_m: cableLengthM, limit_deg: limitDeg } = facts;
  const found = orderFindings(readings);
  for (const reading of readings) found.push(...readingFindings(reading, limitDeg));
  for (const record of [...readings, ...observations, ...others])
    found.push(...placeFindings(run, record, cableLengthM));
  for (const observation of observations) {
    found.push(...startFindings(run, observation));
    for (const one of checkObservation(codeRows, observation.fields))
      found.push({ record_id: observation.id, ...one });
  }
  // what lies beyond the end is told of each record already
  return [...found, ...continuousItems(observations, null).faults];
}

/**
 * @param {Words} words
 * @param {import('../../records/tables.js').FindingRow[]} table
 * @param {{code: string, values: Finding['values']}} finding
 * @returns {string}
 */
export function sentence(words, table, finding) {
  const row = table.find((one) => one.code === finding.code);
  if (!row) throw new SurveyError('finding_unknown', 'finding');
  let text = row.sentence;
  for (const [name, value] of Object.entries(finding.values))
    text = text.replaceAll(`{${name}}`, () => shown(words, name, value));
  return text;
}

/** @param {Words} words @param {string} name @param {Finding['values'][string]} value */
function shown(words, name, value) {
  if (name === 'label') return message(words, `survey.finding.${value}`);
  if (Array.isArray(value))
    return (
      choice(
        words,
        value.map((one) => unitText(words, one))
      ) || message(words, 'survey.unit.none')
    );
  if (typeof value === 'number') return numberText(words, String(value));
  return name === 'unit' ? unitText(words, String(value)) : String(value);
}

/**
 * @param {string} code
 * @param {string} recordId
 * @param {string} field
 * @param {Finding['values']} values
 * @returns {RecordFinding}
 */
function make(code, recordId, field, values) {
  return { record_id: recordId, code, field, values };
}

/** @param {ReadingRecord[]} readings @returns {RecordFinding[]} */
function orderFindings(readings) {
  /** @type {RecordFinding[]} */
  const found = [];
  /** @type {number | null} */
  let before = null;
  /** @type {number | null} */
  let beforeShown = null;
  /** @type {Set<number>} */
  const earlier = new Set();
  for (const reading of readings) {
    const counterM = reading.fields.counter_m ?? null;
    if (counterM === null) continue;
    const showedM = shownM(reading.fields, 'counter_m');
    const place = Math.floor(counterM * 100 + 0.5); // to the centimetre
    if (earlier.has(place)) {
      found.push(make('reading_duplicate', reading.id, 'counter_m', { counter_m: showedM }));
    } else if (before !== null && counterM < before) {
      found.push(
        make('reading_out_of_order', reading.id, 'counter_m', { counter_m: showedM, before_m: beforeShown })
      );
    }
    earlier.add(place);
    before = counterM;
    beforeShown = showedM;
  }
  return found;
}

/** @param {ReadingRecord} reading @param {number | null} limitDeg @returns {RecordFinding[]} */
function readingFindings(reading, limitDeg) {
  const { counter_m: counterM, inclination } = reading.fields;
  if (counterM === null || counterM === undefined || !inclination) {
    return [make('reading_incomplete', reading.id, 'inclination', {})];
  }
  const deg = inclinationDeg(inclination);
  if (deg !== null && limitDeg !== null && Math.abs(deg) > limitDeg) {
    const values = { deg: Math.floor(Math.abs(deg) * 10 + 0.5) / 10, limit_deg: limitDeg };
    return [make('inclination_beyond_limit', reading.id, 'inclination', values)];
  }
  return [];
}

/**
 * @param {RunFields} run
 * @param {PlacedRecord} record
 * @param {number | null} cableLengthM
 * @returns {RecordFinding[]}
 */
function placeFindings(run, record, cableLengthM) {
  const name = (record.fields.counter_m ?? null) !== null ? 'counter_m' : 'from_counter_m';
  const counterM = record.fields[name] ?? null;
  if (counterM === null) return [];
  const zeroM = run.counter_zero_m ?? null;
  const endM = run.end_counter_m ?? null;
  /** @type {RecordFinding[]} */
  const found = [];
  if (cableLengthM !== null && counterM > cableLengthM) {
    found.push(
      make('beyond_cable', record.id, name, { counter_m: comeTo(counterM), cable_length_m: cableLengthM })
    );
  }
  if (zeroM !== null && counterM < zeroM) {
    found.push(make('before_zero', record.id, name, { counter_m: comeTo(counterM), counter_zero_m: zeroM }));
  }
  if (endM !== null && counterM > endM) {
    found.push(
      make('beyond_end', record.id, name, { counter_m: comeTo(counterM), end_counter_m: comeTo(endM) })
    );
  }
  return found;
}

/** @param {RunFields} run @param {ObservationRecord} observation @returns {RecordFinding[]} */
function startFindings(run, { id, fields }) {
  if (startOffM(run, fields) === null) return [];
  return [
    make('start_off_zero', id, 'counter_m', {
      counter_m: shownM(fields, 'counter_m'),
      counter_zero_m: run.counter_zero_m ?? 0
    })
  ];
}

/** A counter that ran on through a reset, without the noise of the sum. @param {number} counterM */
function comeTo(counterM) {
  return Math.floor(counterM * 1000 + 0.5) / 1000;
}
