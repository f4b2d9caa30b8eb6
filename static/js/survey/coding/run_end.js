/**
 * Where a run ended and how, and with it everything that was recorded as going on. Twin of
 * webapp/survey/coding/run_end.py.
 */

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */

const START_CODE = 'BCD';
export const FINISH_CODE = 'BCE';
const ABANDONED_CODE = 'BDC';
const START_WITHIN_M = 1; // of chainage zero, by the counter
/**
 * Of a run that was abandoned, by its characterisation.
 * @type {Object<string, import('../../records/types.js').EndReason>}
 */
const REASONS = { A: 'obstruction', B: 'water' };

/** @param {RunFields} run @param {ObservationRecord[]} observations @returns {RunFields} */
export function endedRun(run, observations) {
  const fields = { ...run };
  const recorded = recordedEnd(observations)?.fields;
  if (!recorded) return fields;
  fields.end_counter_m ??= recorded.counter_m;
  if (!fields.end_reason) {
    fields.end_reason =
      recorded.code === FINISH_CODE
        ? 'node_reached'
        : (REASONS[recorded.characterisation_1 || ''] ?? 'other');
    fields.end_reason_from = 'observation';
  }
  return fields;
}

/** @param {RunFields} run @param {ObservationRecord['fields']} observation @returns {number | null} */
export function startOffM(run, observation) {
  const counterM = observation.counter_m ?? null;
  if (observation.code !== START_CODE || counterM === null) return null;
  const offM = Math.abs(counterM - (run.counter_zero_m || 0));
  return offM > START_WITHIN_M ? offM : null;
}

/**
 * The observation that tells where and how a run ended.
 * @param {ObservationRecord[]} observations
 * @returns {ObservationRecord | null}
 */
export function recordedEnd(observations) {
  return farthest(observations, FINISH_CODE) ?? farthest(observations, ABANDONED_CODE);
}

/** @param {ObservationRecord[]} observations @param {string} code @returns {ObservationRecord | null} */
function farthest(observations, code) {
  /** @type {ObservationRecord | null} */
  let best = null;
  for (const one of observations) {
    const { fields } = one;
    if (
      fields.code === code &&
      (fields.counter_m ?? null) !== null &&
      (best === null || Number(fields.counter_m) > Number(best.fields.counter_m))
    )
      best = one;
  }
  return best;
}

/** @param {StretchRecord[]} stretches @param {number | null} endCounterM @returns {StretchRecord[]} */
export function closedStretches(stretches, endCounterM) {
  const starts = stretches
    .map((one) => one.fields.from_counter_m ?? null)
    .filter((start) => start !== null)
    .sort((a, b) => a - b);
  return stretches.map((one) => closed(one, starts, endCounterM));
}

/**
 * @param {StretchRecord} one
 * @param {number[]} starts
 * @param {number | null} endCounterM
 * @returns {StretchRecord}
 */
function closed(one, starts, endCounterM) {
  const { fields } = one;
  const fromM = fields.from_counter_m ?? null;
  if (fromM === null || (fields.to_counter_m ?? null) !== null) return one;
  const beyond = starts.find((start) => start > fromM);
  const toM = beyond ?? endCounterM;
  if (toM === null || toM <= fromM) return one;
  return {
    ...one,
    fields: { ...fields, to_counter_m: toM, to_known: beyond === undefined ? 'end_of_run' : 'start_of_next' }
  };
}
