/** Standing water of a run from its records. Twin of webapp/survey/levels/run_water.py. */
import { chainageM } from '../instruments/counter.js';
import { SurveyError } from '../errors.js';
import { standingWater } from './ponding.js';
import { compareWater } from './water_check.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/** @typedef {import('./ponding.js').Sag} Sag */
/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('../flow/run_capacity.js').CapacityRow} CapacityRow */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/**
 * @typedef {{flow: string, sags: Sag[], backfalls: import('./ponding.js').Backfall[],
 *   checks: Array<import('./water_check.js').WaterCheck & {id: string, flow_depth_m: number}>}} RunWater
 */

const WATER = 'BDD';
const SEEN_SD_PCT = 5; // assumed: how well a water level is judged on a picture, as a share of the height

/**
 * @param {RunFields} run
 * @param {ObservationRecord[]} observations
 * @param {LevelProfile} profile
 * @param {CapacityRow[]} rows
 * @param {import('../instruments/instruments.js').Instruments} instruments
 * @returns {RunWater}
 */
export function runWater(run, observations, profile, rows, instruments) {
  const flow = run.direction === 'with_flow' || run.direction === 'against_flow' ? run.direction : 'unknown';
  const found = standingWater(profile, flow);
  /** @type {Map<string, Sag[]>} all sags at once for each bore, however many lie in it */
  const byBore = new Map();
  const sags = found.sags.map((sag, k) => {
    const row = stretchAt(rows, sag.low_m);
    if (row === null) return sag;
    const bore = { .../** @type {Bore} */ (row.bore), deposit_m: 0 };
    const key = JSON.stringify(bore);
    if (!byBore.has(key)) byBore.set(key, sagsIn(profile, flow, bore, found.sags));
    return /** @type {Sag[]} */ (byBore.get(key))[k];
  });
  const zeroM = run.counter_zero_m || 0;
  return {
    flow,
    sags,
    backfalls: found.backfalls,
    checks: checksOf({ ...found, sags }, observations, rows, zeroM, instruments.scale)
  };
}

/** @param {CapacityRow[]} rows @param {number} placeM @returns {CapacityRow | null} */
function stretchAt(rows, placeM) {
  return (
    rows.find(
      (row) => row.from_m !== null && row.bore !== null && row.from_m <= placeM && placeM <= Number(row.to_m)
    ) ?? null
  );
}

/**
 * The sags with their volumes in a bore; as they were where it has none.
 * @param {LevelProfile} profile
 * @param {string} flow
 * @param {Bore} bore
 * @param {Sag[]} without
 * @returns {Sag[]}
 */
function sagsIn(profile, flow, bore, without) {
  try {
    return standingWater(profile, flow, bore).sags;
  } catch (error) {
    if (error instanceof SurveyError) return without;
    throw error;
  }
}

/**
 * @param {import('./ponding.js').Ponding} ponding
 * @param {ObservationRecord[]} observations
 * @param {CapacityRow[]} rows
 * @param {number} zeroM
 * @param {number} scale
 */
function checksOf(ponding, observations, rows, zeroM, scale) {
  const seen = [];
  /** @type {number | null} */
  let least = null;
  for (const { id, fields } of observations) {
    const [counterM, percent] = [fields.counter_m ?? null, fields.quantification_1 ?? null];
    if (fields.code !== WATER || counterM === null || percent === null || !(percent >= 0 && percent <= 100))
      continue;
    const place = chainageM(counterM, zeroM, scale);
    const row = stretchAt(rows, place);
    if (row === null) continue;
    seen.push({ id, place, percent, heightM: /** @type {Bore} */ (row.bore).height_m });
    const inside = ponding.sags.some((sag) => sag.from_m <= place && place <= sag.to_m);
    if (!inside && (least === null || percent < least)) least = percent;
  }
  return seen.map(({ id, place, percent, heightM }) => {
    const flowM = least === null ? 0 : (least / 100) * heightM;
    return {
      id,
      flow_depth_m: flowM,
      ...compareWater(ponding, [place], [percent], heightM, SEEN_SD_PCT, flowM)[0]
    };
  });
}
