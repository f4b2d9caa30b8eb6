/** How far a run was surveyed and what remains of it. Twin of webapp/survey/plan/run_extent.py. */
import { chainageM } from '../instruments/counter.js';
import { checkFarLength } from '../instruments/counter_scale.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/**
 * @typedef {{end_counter_m: number | null, surveyed_m: number | null, surveyed_known: string, expected_m:
 *   number | null, remaining_m: number | null, far_check: ReturnType<typeof checkFarLength> | null}}
 *   RunExtent
 */

/**
 * @param {RunFields} run
 * @param {ReadingRecord[]} readings
 * @param {ObservationRecord[]} observations
 * @param {Instruments} instruments
 * @returns {RunExtent}
 */
export function runExtent(run, readings, observations, instruments) {
  const zeroM = run.counter_zero_m || 0;
  /** @type {number | null} */
  let endM = run.end_counter_m ?? null;
  const expectedM = run.expected_length_m ?? null;
  let provenance = endM === null ? 'unknown' : 'measured';
  if (endM === null) {
    for (const one of [...readings, ...observations]) {
      const counterM = one.fields.counter_m ?? null;
      if (counterM === null) continue;
      endM = endM === null || counterM > endM ? counterM : endM;
      provenance = 'assumed';
    }
  }
  const surveyedM = endM === null ? null : chainageM(endM, zeroM, instruments.scale);
  /** @type {number | null} */
  let remainingM = null;
  /** @type {ReturnType<typeof checkFarLength> | null} */
  let check = null;
  if (expectedM !== null && surveyedM !== null) {
    if (run.end_reason === 'node_reached') {
      try {
        check = checkFarLength(surveyedM, expectedM);
      } catch (error) {
        if (!(error instanceof SurveyError)) throw error;
      }
    } else if (expectedM > surveyedM) remainingM = expectedM - surveyedM;
  }
  return {
    end_counter_m: endM,
    surveyed_m: surveyedM,
    surveyed_known: provenance,
    expected_m: expectedM,
    remaining_m: remainingM,
    far_check: check
  };
}
