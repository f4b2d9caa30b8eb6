/** What calls for action at once, whatever the class. Twin of webapp/survey/grading/immediate.py. */

/** @typedef {import('../../records/types.js').RunFields} RunFields */

/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */
/** @typedef {import('../../records/tables.js').ImmediateRow} ImmediateRow */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('./grading.js').Classes} Classes */
/** @typedef {{row: number, condition: string, sure: boolean}} Immediate */

/**
 * @param {Fields} fields
 * @param {Classes} classes
 * @param {RunFields} run
 * @param {GradingLimits} scheme
 * @returns {Immediate[]}
 */
export function immediateConditions(fields, classes, run, scheme) {
  /** @type {Immediate[]} */
  const found = [];
  scheme.immediate.forEach((row, index) => {
    const sure = holds(row, fields, classes, run);
    if (sure !== null && !found.some((one) => one.condition === row.condition))
      found.push({ row: index, condition: row.condition, sure });
  });
  return found;
}

/** @param {Immediate[][]} each @returns {Immediate[]} */
export function immediateOverVariants(each) {
  /** @type {Map<string, Immediate>} */
  const found = new Map();
  for (const one of each.flat()) if (!found.has(one.condition)) found.set(one.condition, { ...one });
  for (const one of found.values()) {
    one.sure = each.every((some) => some.some((other) => other.condition === one.condition && other.sure));
  }
  return [...found.values()];
}

/**
 * True where it is so, false where it may be, null where it is not.
 * @param {ImmediateRow} row
 * @param {Fields} fields
 * @param {Classes} classes
 * @param {RunFields} run
 * @returns {boolean | null}
 */
function holds(row, fields, classes, run) {
  const limitPct = row.capacity_left_pct ?? null;
  if (limitPct !== null) return hardlyAnyLeft(limitPct, classes.operation);
  if (row.zones?.length) {
    if (!row.zones.includes(run.protection_zone ?? '')) return null;
    const { goal, from_class: from } = /** @type {Required<ImmediateRow>} */ (row);
    const found = classes[goal];
    if (found === null || found.high < from) return null;
    return found.low >= from;
  }
  if (row.code !== fields.code) return null;
  if (row.characterisation_1.length === 0) return true;
  const kind = fields.characterisation_1;
  if (!kind) return false;
  return row.characterisation_1.includes(kind) ? true : null;
}

/** @param {number} limitPct @param {import('./grading.js').Found | null} found @returns {boolean | null} */
function hardlyAnyLeft(limitPct, found) {
  if (found === null || found.left_low_pct === null || found.left_low_pct > limitPct) return null;
  return Number(found.left_high_pct) <= limitPct;
}
