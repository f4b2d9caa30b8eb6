/**
 * Capacity of the stretches of a run with the fall's uncertainty, and the bottleneck. Twin of
 * webapp/survey/flow/capacity.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { fullFlow } from './open_flow.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./resistance.js').Resistance} Resistance */
/**
 * @typedef {{bore: Bore, resistance: Resistance, gradient_low?: number | null, gradient?: number | null,
 *   gradient_high?: number | null, gradient_known?: string, original?: Bore | null}} Stretch
 */
/**
 * @typedef {{low_m3_s: number | null, mean_m3_s: number | null, high_m3_s: number | null, known: string,
 *   findings: string[]}} Capacity
 */
/** @typedef {{code: string, without_m3_s: number}} Reason */
/**
 * @typedef {{capacities: Capacity[], index: number | null, reasons: Reason[], rivals: number[], no_number:
 *   number[]}} Bottleneck
 */

const KNOWN = ['measured', 'computed', 'bounded', 'assumed', 'unknown'];
const LEVEL = 1e-6; // m/m: flatter than 1 in 1,000,000 is level
const MATTERS = 1.02; // a cause is named when without it the stretch would carry at least 2 % more

/** @param {Stretch} stretch @returns {Capacity} */
export function capacity(stretch) {
  const band = bandOf(stretch);
  let provenance = stretch.gradient_known === undefined ? 'computed' : stretch.gradient_known;
  if (!KNOWN.includes(provenance)) throw new SurveyError('known_unknown', 'gradient_known');
  const numbers = band.map((value) => value !== null && value >= LEVEL);
  const findings = bandFindings(band, numbers);
  const flows = band.map((gradient, i) => {
    if (gradient === null || !numbers[i]) return null;
    const flow = fullFlow(stretch.bore, gradient, stretch.resistance);
    findings.push(...flow.findings.filter((code) => !findings.includes(code)));
    return flow.discharge_m3_s;
  });
  if ((stretch.bore.deposit_m ?? 0) > 0) findings.push('bed_taken_as_rough_as_wall');
  if (provenance === 'measured' || provenance === 'computed')
    provenance = band[1] !== null ? 'computed' : 'bounded';
  if (flows.every((flow) => flow === null)) {
    fullFlow(stretch.bore, 1, stretch.resistance); // refuses what cannot be even without a number
    provenance = 'unknown';
  }
  return { low_m3_s: flows[0], mean_m3_s: flows[1], high_m3_s: flows[2], known: provenance, findings };
}

/** @param {Stretch[]} stretches @returns {Bottleneck} */
export function bottleneck(stretches) {
  if (stretches.length === 0) throw new SurveyError('no_stretches', 'stretches');
  const found = stretches.map(capacity);
  /** @type {Bottleneck} */
  const result = { capacities: found, index: null, reasons: [], rivals: [], no_number: [] };
  let least = Infinity;
  for (const [i, one] of found.entries()) {
    const weight = one.mean_m3_s ?? one.low_m3_s;
    if (weight === null) result.no_number.push(i);
    else if (weight < least) [least, result.index] = [weight, i];
  }
  if (result.index === null) return result;
  const { index } = result;
  const top = Math.max(
    ...[found[index].low_m3_s, found[index].mean_m3_s, found[index].high_m3_s].filter((q) => q !== null)
  );
  result.rivals = [...found.keys()].filter(
    (i) =>
      i !== index &&
      !result.no_number.includes(i) &&
      (found[i].low_m3_s === null || Number(found[i].low_m3_s) <= top)
  );
  result.reasons = reasonsFor(stretches, index);
  return result;
}

/** @param {Stretch} stretch @returns {(number | null)[]} */
function bandOf(stretch) {
  let last = -1;
  return /** @type {const} */ (['gradient_low', 'gradient', 'gradient_high']).map((field) => {
    const value = stretch[field];
    if (value === null || value === undefined) return null;
    numberBetween(value, -1, 1, field, 'gradient_out_of_range');
    if (value < last) throw new SurveyError('band_out_of_order', field);
    last = value;
    return value;
  });
}

/** @param {(number | null)[]} band @param {boolean[]} numbers @returns {string[]} */
function bandFindings([low, mean, high], numbers) {
  const best = mean ?? high ?? low;
  if (best === null) return ['gradient_unknown'];
  if (best < LEVEL) return [best > -LEVEL ? 'gradient_level' : 'gradient_adverse'];
  return low !== null && !numbers[0] ? ['gradient_may_be_adverse'] : [];
}

/**
 * What the bottleneck would carry without each of its causes.
 * @param {Stretch[]} stretches
 * @param {number} index
 * @returns {Reason[]}
 */
function reasonsFor(stretches, index) {
  const here = stretches[index];
  const gradient = Number(here.gradient ?? here.gradient_low);
  const now = Number(carries(here.bore, gradient, here.resistance));
  const cleaned = (/** @type {Stretch} */ s) => s.original ?? { ...s.bore, deposit_m: 0 };
  const falls = stretches.map((s) => s.gradient ?? gradient);
  /** @type {[string, number | null][]} */
  const trials = [];
  if ((here.bore.deposit_m ?? 0) > 0) {
    trials.push(['deposit', carries({ ...here.bore, deposit_m: 0 }, gradient, here.resistance)]);
  }
  if (here.original) {
    const laid = { ...here.original, deposit_m: here.bore.deposit_m ?? 0 };
    trials.push(['deformation', carries(laid, gradient, here.resistance)]);
  }
  trials.push(['fall', carries(here.bore, Math.max(gradient, ...falls), here.resistance)]);
  const clean = carries(cleaned(here), gradient, here.resistance);
  const largest = greatest(stretches.map((s) => carries(cleaned(s), gradient, here.resistance)));
  if (largest !== null && clean !== null && largest > clean * MATTERS) trials.push(['bore', largest]);
  trials.push(['roughness', greatest(stretches.map((s) => carries(here.bore, gradient, s.resistance)))]);
  /** @type {Reason[]} */
  const named = [];
  for (const [code, flow] of trials)
    if (flow !== null && flow > now * MATTERS) named.push({ code, without_m3_s: flow });
  return named.sort((a, b) => b.without_m3_s - a.without_m3_s);
}

/** @param {(number | null)[]} flows @returns {number | null} */
function greatest(flows) {
  const numbers = flows.filter((flow) => flow !== null);
  return numbers.length ? Math.max(...numbers) : null;
}

/** @param {Bore} bore @param {number} gradient @param {Resistance} resistance @returns {number | null} */
function carries(bore, gradient, resistance) {
  try {
    return fullFlow(bore, gradient, resistance).discharge_m3_s;
  } catch (error) {
    if (error instanceof SurveyError) return null;
    throw error;
  }
}
