/**
 * A capacity with all that makes it unsure: fall, roughness, size of the bore, estimates of what narrows it.
 * Twin of webapp/survey/flow/capacity_band.py.
 */
import { SurveyError } from '../errors.js';
import { fullFlow } from './open_flow.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/**
 * @typedef {{gradient: number, mean_m3_s: number, low_m3_s: number | null, high_m3_s: number, left: [number,
 *   number, number] | null}} Carried
 */
/**
 * @typedef {{low_m3_s: number, mean_m3_s: number, high_m3_s: number, findings: string[], spread:
 *   Object<string, number | null>}} Band
 */

export const SIGMAS_95 = 1.96;
export const LEVEL = 1e-6; // m/m: flatter than 1 in 1,000,000 is level
/** @type {Object<string, number>} */
const SIZE_SD = { measured: 0.01, drawing: 0.02 };
const EVEN = 1.35; // the power by which the half width of an even spread is added to a normal one
const SIZE_SD_ASSUMED = 0.04; // of the height, where it is assumed or nobody said how it is known

/**
 * @param {Bore} bore
 * @param {string} sizeKnown
 * @param {Carried} carried
 * @param {import('./wall_roughness.js').Wall} wall
 * @returns {Band}
 */
export function capacityBand(bore, sizeKnown, carried, wall) {
  const { gradient, mean_m3_s: mean } = carried;
  const flow = fullFlow(bore, gradient, wallOf(wall.mm));
  const even = flow.discharge_m3_s;
  const left = carried.left ?? [1, 1, 1];
  const by = SIGMAS_95 * (SIZE_SD[sizeKnown] ?? SIZE_SD_ASSUMED);
  const [worse, better] = [
    log(even, flowOf(bore, gradient, wall.high_mm)),
    log(flowOf(bore, gradient, wall.low_mm) || even, even)
  ];
  const [middle, half] = [(better - worse) / 2, (better + worse) / 2];
  /** @type {Array<[string, number, number]>} */
  const ends = [
    ['roughness', half, half],
    ['fall', log(mean, carried.low_m3_s), log(carried.high_m3_s, mean)],
    [
      'size',
      log(even, flowOf(scaled(bore, 1 - by), gradient, wall.mm)),
      log(flowOf(scaled(bore, 1 + by), gradient, wall.mm) || even, even)
    ],
    ['narrowing', log(left[1], left[0]), log(left[2], left[1])]
  ];
  /** @type {Object<string, number | null>} */
  const spread = {};
  for (const [name, down, up] of ends) {
    spread[name] = down === Infinity || up === Infinity ? null : down + up;
  }
  const [lower, upper] = [together(ends.map((one) => one[1])), together(ends.map((one) => one[2]))];
  const likely = mean * left[1];
  const centre = half === Infinity ? 0 : likely * Math.exp(middle);
  return {
    low_m3_s: lower === Infinity ? 0 : Math.min(likely, centre * Math.exp(-lower)),
    mean_m3_s: likely,
    high_m3_s: upper === Infinity ? carried.high_m3_s * left[2] : Math.max(likely, centre * Math.exp(upper)),
    findings: [...flow.findings],
    spread
  };
}

/** @param {number} roughnessMm @returns {import('./resistance.js').Resistance} */
function wallOf(roughnessMm) {
  return { law: 'colebrook_white', roughness_m: roughnessMm / 1000 };
}

/** @param {Bore} bore @param {number} by @returns {Bore} */
function scaled(bore, by) {
  const width = bore.width_m ?? null;
  return { ...bore, height_m: bore.height_m * by, width_m: width === null ? null : width * by };
}

/** Full-bore flow at one end of an error; null where the law has no number.
 * @param {Bore} bore @param {number} gradient @param {number} roughnessMm @returns {number | null} */
function flowOf(bore, gradient, roughnessMm) {
  try {
    return fullFlow(bore, gradient, wallOf(roughnessMm)).discharge_m3_s;
  } catch (error) {
    if (error instanceof SurveyError) return null;
    throw error;
  }
}

/** @param {number[]} parts that of the roughness first @returns {number} */
function together(parts) {
  if (parts.includes(Infinity)) return Infinity;
  const others = Math.sqrt(parts.slice(1).reduce((sum, one) => sum + one * one, 0));
  return Math.pow(Math.pow(parts[0], EVEN) + Math.pow(others, EVEN), 1 / EVEN);
}

/**
 * ln of their ratio, not below 0; infinite where the lesser is nothing and the greater is not.
 * @param {number} more
 * @param {number | null} less
 * @returns {number}
 */
function log(more, less) {
  if (more <= 0) return 0;
  return less === null || less <= 0 ? Infinity : Math.max(0, Math.log(more / less));
}
