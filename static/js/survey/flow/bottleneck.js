/**
 * Which stretch of a run carries least, and what it would carry without what limits it. Twin of
 * webapp/survey/flow/bottleneck.py.
 */
import { SurveyError } from '../errors.js';
import { fullFlow } from './open_flow.js';

/** @typedef {import('./narrowing.js').LaidBore} LaidBore */
/** @typedef {import('./capacity_limits.js').LimitedRow} LimitedRow */

const MATTERS = 1.02; // a cause is named when without it the stretch would carry at least 2 % more

/** @type {Object<string, string>} */
const CAUSES = { deposit_depth: 'deposit', deformation: 'deformation' };

/** The row that carries least; those without a number may carry less.
 * @param {LimitedRow[]} rows @returns {import('./run_capacity.js').RunBottleneck} */
export function bottleneck(rows) {
  const weights = rows.map((row) =>
    row.capacity ? (row.capacity.mean_m3_s ?? row.capacity.low_m3_s) : null
  );
  const none = weights.flatMap((weight, k) => (weight === null ? [k] : []));
  /** @type {number | null} */
  let index = null;
  weights.forEach((weight, k) => {
    if (weight !== null && (index === null || weight < Number(weights[index]))) index = k;
  });
  if (index === null) return { index: null, reasons: [], rivals: [], no_number: none };
  const at = Number(index);
  const mostM3S = Number(rows[at].capacity?.high_m3_s);
  const rivals = weights.flatMap((weight, k) =>
    weight !== null && k !== at && Number(rows[k].capacity?.low_m3_s) <= mostM3S ? [k] : []
  );
  return { index: at, reasons: [], rivals, no_number: none };
}

/**
 * @param {import('./run_capacity.js').RunBottleneck} bottleneck
 * @param {LimitedRow[]} rows
 * @returns {import('./run_capacity.js').RunBottleneck}
 */
export function withReasons(bottleneck, rows) {
  return bottleneck.index === null
    ? bottleneck
    : { ...bottleneck, reasons: reasonsFor(rows, bottleneck.index) };
}

/** What the bottleneck would carry without what narrows it most, with another fall, with the largest bore.
 * @param {LimitedRow[]} rows @param {number} index @returns {Array<{code: string, without_m3_s: number}>} */
function reasonsFor(rows, index) {
  const here = rows[index];
  const mean = here.capacity?.mean_m3_s ?? null;
  if (mean === null) return [];
  /** @type {Array<[string, number | null]>} */
  const trials = [];
  const taken = here.narrowings;
  let share = 1;
  if (taken.length) {
    share = Math.min(100, ...taken.map((one) => Number(one.left_pct))) / 100;
    const without = Math.min(100, ...taken.slice(1).map((one) => Number(one.left_pct))) / 100;
    trials.push([CAUSES[taken[0].form] ?? 'narrowing', share <= 0 ? null : (mean / share) * without]);
  }
  const clean = share > 0 ? mean / share : 0;
  const [own, mm] = [Number(here.carries.gradient), Number(here.roughness_mm)];
  trials.push(['even_fall', Number(here.even_m3_s) * share]);
  const best = Math.max(...rows.map((row) => row.carries.gradient).filter((one) => one !== null));
  if (best > own) trials.push(['fall', even(here.laid, best, mm, share)]);
  const mine = even(here.laid, own, mm, 1);
  const bores = rows
    .filter((row) => row.laid)
    .map((row) => even(row.laid, own, mm, share))
    .filter((one) => one !== null);
  const largest = bores.length ? Math.max(...bores) : null;
  trials.push(['bore', largest === null || !mine ? null : (largest / mine) * clean]);
  /** @type {Array<{code: string, without_m3_s: number}>} */
  const named = [];
  for (const [code, flow] of trials)
    if (flow !== null && flow > mean * MATTERS) named.push({ code, without_m3_s: flow });
  return named.sort((a, b) => b.without_m3_s - a.without_m3_s);
}

/**
 * Full-bore flow at an even fall; null where the law or the shape has none.
 * @param {LaidBore | null} laid
 * @param {number} gradient
 * @param {number} roughnessMm
 * @param {number} share
 * @returns {number | null}
 */
function even(laid, gradient, roughnessMm, share) {
  try {
    return (
      fullFlow({ .../** @type {LaidBore} */ (laid), deposit_m: 0 }, gradient, {
        law: 'colebrook_white',
        roughness_m: roughnessMm / 1000
      }).discharge_m3_s * share
    );
  } catch (error) {
    if (error instanceof SurveyError) return null;
    throw error;
  }
}
