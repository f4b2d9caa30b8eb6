/** Hazards to people that the observations of a run show, the gravest first. Twin of webapp/survey/grading/hazards.py. */
import { variants } from '../coding/disputes.js';

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../../records/tables.js').HazardRow} HazardRow */
/** @typedef {{row: number, hazard: string, record_id: string, from_counter_m: number | null, to_counter_m: number | null, sure: boolean}} Hazard */

/**
 * @param {ObservationRecord[]} observations
 * @param {ContinuousItem[]} items
 * @param {number | null} endCounterM
 * @param {HazardRow[]} rows
 * @returns {Hazard[]}
 */
export function hazards(observations, items, endCounterM, rows) {
  const spans = new Map(items.map((item) => [item.start_id, item]));
  const parts = new Set(items.flatMap((item) => [...item.change_ids, item.finish_id]));
  /** @type {Hazard[]} */
  const found = [];
  for (const one of observations) {
    if (parts.has(one.id)) continue;
    const { fields } = one;
    const fromM = fields.counter_m ?? null;
    let toM = fromM;
    const item = spans.get(one.id);
    if (item) toM = item.to_counter_m === null && item.open ? endCounterM : item.to_counter_m;
    for (const [row, sure] of overVariants(one, changedKinds(item, observations), rows)) {
      found.push({
        row,
        hazard: rows[row].hazard,
        record_id: one.id,
        from_counter_m: fromM,
        to_counter_m: toM,
        sure
      });
    }
  }
  const nowhere = (/** @type {Hazard} */ one) => Number(one.from_counter_m === null);
  return found.sort(
    (a, b) => a.row - b.row || nowhere(a) - nowhere(b) || (a.from_counter_m ?? 0) - (b.from_counter_m ?? 0)
  );
}

/**
 * The kinds that its changes along the pipe give it.
 * @param {ContinuousItem | undefined} item
 * @param {ObservationRecord[]} observations
 * @returns {string[]}
 */
function changedKinds(item, observations) {
  if (!item || item.change_ids.length === 0) return [];
  const ids = new Set(item.change_ids);
  return observations.filter((o) => ids.has(o.id)).map((o) => o.fields.characterisation_1 || '');
}

/** The rows that fit under any value in dispute; sure only what fits under each.
 * @param {ObservationRecord} one
 * @param {string[]} kinds
 * @param {HazardRow[]} rows
 * @returns {Array<[number, boolean]>}
 */
function overVariants(one, kinds, rows) {
  const mays = variants(one.fields, one.conflicts);
  const each = mays.map((may) => new Map(matches([may.characterisation_1 || '', ...kinds], may, rows)));
  const fitting = [...new Set(each.flatMap((found) => [...found.keys()]))].sort((a, b) => a - b);
  return fitting.map((row) => [row, each.every((found) => found.get(row) ?? false)]);
}

/**
 * @param {string[]} kinds
 * @param {ObservationRecord['fields']} fields
 * @param {HazardRow[]} rows
 * @returns {Array<[number, boolean]>}
 */
function matches(kinds, fields, rows) {
  /** @type {Array<[number, boolean]>} */
  const found = [];
  rows.forEach((row, index) => {
    if (row.code !== fields.code) return;
    const wanted = row.characterisation_1;
    if (wanted.length === 0 || kinds.some((kind) => wanted.includes(kind))) found.push([index, true]);
    else if (kinds.includes('')) found.push([index, false]);
  });
  return found;
}
