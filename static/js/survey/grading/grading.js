/**
 * The condition class of one observation for tightness, stability and operation. Twin of
 * webapp/survey/grading/grading.py.
 */
import { MILD, SEVERE, classByLimits, classByShare } from './class_limits.js';
import { capacityLeft } from '../flow/narrowing.js';

/** @typedef {import('../../records/tables.js').Goal} Goal */
/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */
/** @typedef {import('../../records/tables.js').GradingRow} GradingRow */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('../../records/types.js').StretchFields} StretchFields */
/** @typedef {import('../../records/types.js').Shape} Shape */
/**
 * @typedef {{low: number, high: number, row: number, rule: GradingRow['rule'], quantity: number | null, unit:
 *   string | null, limit: number | null, left_low_pct: number | null, left_high_pct: number | null, left_of:
 *   string | null, review: boolean, findings: string[]}} Found
 */
/** @typedef {Record<Goal, Found | null>} Classes */
/** @typedef {import('../flow/narrowing.js').LaidBore} BoreSizes */
/**
 * @typedef {{pipe: 'rigid' | 'flexible' | 'unknown', kind: Shape | null, bore: BoreSizes | null, gradient:
 *   number | null, roughness_mm: number}} Pipe
 */
/** @typedef {{gradient: number | null, roughness_mm: number | null}} Carries */

/** @type {Goal[]} */
export const GOALS = ['tightness', 'stability', 'operation'];
const LETTERS = /** @type {const} */ (['characterisation_1', 'characterisation_2']);
/** @type {Array<Shape | null>} */
const SHAPES = ['circular', 'egg', 'rectangular', 'oval', 'arch', 'u_shape'];

/** @param {Fields} fields @param {Pipe} pipe @param {GradingLimits} scheme @returns {Classes} */
export function classesOf(fields, pipe, scheme) {
  const found = GOALS.map((goal) => [goal, classFor(goal, fields, pipe, scheme)]);
  return /** @type {Classes} */ (Object.fromEntries(found));
}

/** @param {Classes[]} each @returns {Classes} */
export function overVariants(each) {
  if (each.length === 1) return { ...each[0] };
  const found = GOALS.map((goal) => [goal, disputed(each.map((one) => one[goal]))]);
  return /** @type {Classes} */ (Object.fromEntries(found));
}

/** @param {Array<Found | null>} each @returns {Found | null} */
function disputed(each) {
  const graded = /** @type {Found[]} */ (each.filter((one) => one !== null));
  if (graded.length === 0) return null;
  let found = together(graded);
  // under one of the values nothing would be graded
  if (graded.length < each.length) found = { ...found, low: MILD };
  if (found.left_of !== null && graded.every((one) => one.left_of === found.left_of)) {
    found.left_low_pct = Math.min(...graded.map((one) => Number(one.left_low_pct)));
    found.left_high_pct = Math.max(...graded.map((one) => Number(one.left_high_pct)));
  }
  const same =
    graded.length === each.length && graded.every((one) => one.low === found.low && one.high === found.high);
  return same ? found : { ...found, findings: [...found.findings, 'disputed'] };
}

/** @param {string} code @param {GradingLimits} scheme @returns {boolean} */
export function isGraded(code, scheme) {
  return scheme.rows.some((row) => row.code === code);
}

/**
 * @param {StretchFields | null} stretch
 * @param {Carries | null} carries
 * @param {GradingLimits} scheme
 * @returns {Pipe}
 */
export function pipeOf(stretch, carries, scheme) {
  const fields = stretch ?? {};
  const [kind, heightMm, widthMm] = [fields.shape ?? null, fields.height_mm ?? null, fields.width_mm ?? null];
  /** @type {{rigid: unknown[], flexible: unknown[]}} */
  const { rigid, flexible } = scheme.pipes;
  const alone = kind === 'circular' || kind === 'egg';
  /** @type {BoreSizes | null} */
  let bore = null;
  if (kind && SHAPES.includes(kind) && heightMm !== null && (alone || widthMm !== null)) {
    bore = { kind, height_m: heightMm / 1000, width_m: widthMm === null ? null : widthMm / 1000 };
  }
  return {
    pipe: rigid.includes(fields.material)
      ? 'rigid'
      : flexible.includes(fields.material)
        ? 'flexible'
        : 'unknown',
    kind: SHAPES.includes(kind) ? kind : null,
    bore,
    gradient: carries ? carries.gradient : null,
    roughness_mm: carries?.roughness_mm ?? 1.5
  };
}

/**
 * @param {Goal} goal
 * @param {Fields} fields
 * @param {Pipe} pipe
 * @param {GradingLimits} scheme
 * @returns {Found | null}
 */
function classFor(goal, fields, pipe, scheme) {
  /** @type {Array<{index: number, row: GradingRow, missing: string[]}>} */
  const rows = [];
  scheme.rows.forEach((row, index) => {
    if (row.goal !== goal || row.code !== fields.code) return;
    const missing = match(row, fields, pipe);
    if (missing !== null) rows.push({ index, row, missing });
  });
  const sure = rows.filter((one) => one.missing.length === 0);
  const used = sure.length ? sure.slice(0, 1) : rows;
  if (used.length === 0) return null;
  return together(used.map(({ index, row, missing }) => byRow(index, row, missing, fields, pipe, scheme)));
}

/** What is not recorded that would decide whether a row applies; null where it does not.
 * @param {GradingRow} row @param {Fields} fields @param {Pipe} pipe @returns {string[] | null} */
function match(row, fields, pipe) {
  /** @type {string[]} */
  const missing = [];
  for (const name of LETTERS) {
    if (row[name].length === 0) continue;
    const value = fields[name];
    if (!value && row.optional) return null;
    if (!value)
      missing.push(
        name === 'characterisation_2' && row.patterns === 'all' ? 'pattern_not_recorded' : 'kind_not_recorded'
      );
    else if (!row[name].includes(value)) return null;
  }
  if (row.pipe !== 'any') {
    if (pipe.pipe === 'unknown') missing.push('pipe_not_known');
    else if (pipe.pipe !== row.pipe) return null;
  }
  return missing;
}

/**
 * One class from the rows that may apply: from the mildest to the most severe.
 * @param {Found[]} all
 * @returns {Found}
 */
function together(all) {
  let worst = all[0];
  /** @type {string[]} */
  const findings = [];
  let low = SEVERE;
  let review = false;
  for (const one of all) {
    low = Math.min(low, one.low);
    review = review || one.review;
    findings.push(...one.findings.filter((code) => !findings.includes(code)));
    if (one.high > worst.high) worst = one;
  }
  if (findings.includes('kind_not_recorded')) low = MILD;
  return { ...worst, low, review, findings };
}

/**
 * @param {number} index
 * @param {GradingRow} row
 * @param {string[]} missing
 * @param {Fields} fields
 * @param {Pipe} pipe
 * @param {GradingLimits} scheme
 * @returns {Found}
 */
function byRow(index, row, missing, fields, pipe, scheme) {
  /** @type {Found} */
  const found = {
    low: MILD,
    high: SEVERE,
    row: index,
    rule: row.rule,
    quantity: null,
    unit: row.unit ?? null,
    limit: null,
    left_low_pct: null,
    left_high_pct: null,
    left_of: null,
    review: row.review,
    findings: [...new Set(missing)]
  };
  const { class: flat, limits, form } = /** @type {Required<GradingRow>} */ (row);
  if (row.rule === 'flat') return { ...found, low: flat, high: flat, unit: null };
  const size = fields.quantification_1 ?? null;
  if (size === null) {
    found.findings.push('size_not_recorded');
    if (row.rule !== 'limits') return found;
    const reachable = Object.keys(limits).map(Number);
    return { ...found, low: Math.min(...reachable), high: Math.max(...reachable) };
  }
  found.quantity = size;
  if (row.rule === 'limits') {
    const reached = classByLimits(size, limits);
    return { ...found, low: reached, high: reached, limit: limits[String(reached)] };
  }
  return byCapacity(found, form, size, pipe, scheme);
}

/**
 * @param {Found} found
 * @param {string} form
 * @param {number} size
 * @param {Pipe} pipe
 * @param {GradingLimits} scheme
 * @returns {Found}
 */
function byCapacity(found, form, size, pipe, scheme) {
  const left = capacityLeft(form, size, pipe.bore, pipe.kind, pipe.gradient, pipe.roughness_mm);
  found.findings.push(...left.findings);
  if (left.of === null) return found;
  const limits = scheme[left.of === 'capacity' ? 'capacity_left_pct' : 'area_left_pct'];
  const high = classByShare(Number(left.low_pct), limits);
  return {
    ...found,
    low: classByShare(Number(left.high_pct), limits),
    high,
    limit: limits[String(high)] ?? null,
    left_low_pct: left.low_pct,
    left_high_pct: left.high_pct,
    left_of: left.of
  };
}
