/** A capacity with all that makes it unsure: fall, roughness and size of the bore. Twin of webapp/survey/capacity_band.py. */
import { SurveyError } from './errors.js';
import { fullFlow } from './open_flow.js';

/** @typedef {import('./bore.js').Bore} Bore */
/** @typedef {{gradient_low: number | null, gradient: number | null, gradient_high: number | null}} Gradients */
/** @typedef {{low_m3_s: number, mean_m3_s: number, high_m3_s: number, findings: string[], spread: Object<string, number | null>}} Band */

const SIGMAS_95 = 1.96;
export const LEVEL = 1e-6; // m/m: flatter than 1 in 1,000,000 is level
/** @type {Object<string, number>} */
const SIZE_SD = { measured: 0.01, drawing: 0.02 };
const SIZE_SD_ASSUMED = 0.04; // of the height, where it is assumed or nobody said how it is known

/** @param {Bore} bore @param {string} sizeKnown @param {Gradients} gradients @param {import('./wall_roughness.js').Wall} wall @returns {Band} */
export function capacityBand(bore, sizeKnown, gradients, wall) {
  const gradient = Number(gradients.gradient);
  const flow = fullFlow(bore, gradient, wallOf(wall.mm));
  const mean = flow.discharge_m3_s;
  const by = SIGMAS_95 * (SIZE_SD[sizeKnown] ?? SIZE_SD_ASSUMED);
  /** @type {Array<[string, number | null, number | null]>} */
  const ends = [
    ['fall', flowOf(bore, gradients.gradient_low, wall.mm), flowOf(bore, gradients.gradient_high, wall.mm)],
    ['roughness', flowOf(bore, gradient, wall.high_mm), flowOf(bore, gradient, wall.low_mm)],
    ['size', flowOf(scaled(bore, 1 - by), gradient, wall.mm), flowOf(scaled(bore, 1 + by), gradient, wall.mm)],
  ];
  /** @type {Object<string, number | null>} */
  const spread = {};
  let [lower, upper] = [0, 0];
  for (const [name, less, more] of ends) {
    const [down, up] = [log(mean, less), log(more || mean, mean)];
    lower += down * down;
    upper += up * up;
    spread[name] = down === Infinity ? null : down + up;
  }
  return {
    low_m3_s: lower === Infinity ? 0 : mean * Math.exp(-Math.sqrt(lower)), mean_m3_s: mean,
    high_m3_s: mean * Math.exp(Math.sqrt(upper)), findings: [...flow.findings], spread,
  };
}

/** @param {number} roughnessMm @returns {any} */
function wallOf(roughnessMm) {
  return { law: 'colebrook_white', roughness_m: roughnessMm / 1000 };
}

/** @param {Bore} bore @param {number} by @returns {Bore} */
function scaled(bore, by) {
  const width = bore.width_m ?? null;
  return { ...bore, height_m: bore.height_m * by, width_m: width === null ? null : width * by };
}

/** Full-bore flow at one end of an error; null where the pipe is level or the law has no number.
 * @param {Bore} bore @param {number | null} gradient @param {number} roughnessMm @returns {number | null} */
function flowOf(bore, gradient, roughnessMm) {
  if (gradient === null || gradient < LEVEL) return null;
  try {
    return fullFlow(bore, gradient, wallOf(roughnessMm)).discharge_m3_s;
  } catch (error) {
    if (error instanceof SurveyError) return null;
    throw error;
  }
}

/** @param {number} more @param {number | null} less @returns {number} */
function log(more, less) {
  return less === null || less <= 0 ? Infinity : Math.max(0, Math.log(more / less));
}
