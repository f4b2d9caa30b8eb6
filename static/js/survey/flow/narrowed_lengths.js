/** What narrows a length of pipe, with what it leaves. Twin of webapp/survey/flow/narrowed_lengths.py. */
import { variants } from '../coding/disputes.js';
import { capacityLeft } from './narrowing.js';

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('../../records/types.js').Disputed} Disputed */
/** @typedef {import('../../records/tables.js').Narrowings} Narrowings */
/** @typedef {import('../../records/tables.js').Narrowing} NarrowingRow */
/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/**
 * The pipe that is narrowed.
 * @typedef {{bore: import('./narrowing.js').LaidBore | null, gradient?: number | null, roughness_mm?: number
 *   | null}} Pipe
 */
/**
 * @typedef {{record_id: string, code: string, form: string, size: number | null, sure: boolean, least_pct:
 *   number, most_pct: number, left_pct: number | null}} Narrowing
 * @typedef {{form: string, sure: boolean, least_pct: number, most_pct: number, left_pct: number | null}}
 *   Judged
 */

export const BLOCKS = 'blocks'; // no capacity to speak of
const UNSIZED = 'unsized'; // a size says nothing of what is left

/**
 * @param {ObservationRecord[]} observations
 * @param {ContinuousItem[]} items
 * @param {[number, number]} ends
 * @param {number | null} endCounterM
 * @param {Pipe} pipe
 * @param {Narrowings} table
 * @returns {Narrowing[]}
 */
export function narrowings(observations, items, ends, endCounterM, pipe, table) {
  /** @type {Narrowing[]} */
  const found = [];
  for (const one of inside(observations, items, ends, endCounterM)) {
    const mays = variants(one.fields, one.conflicts);
    const each = mays.map((fields) => judged(fields, pipe, table));
    const all = /** @type {Judged[]} */ (each.filter((made) => made !== null));
    if (all.length === 0) continue;
    const sure = all.length === each.length && all.every((made) => made.sure);
    found.push({
      record_id: one.id,
      code: one.fields.code || '',
      form: all[0].form,
      size: all[0].form === UNSIZED ? null : (one.fields.quantification_1 ?? null),
      sure,
      least_pct: Math.min(...all.map((made) => made.least_pct)),
      most_pct: sure ? Math.max(...all.map((made) => made.most_pct)) : 100,
      left_pct: mays.length === 1 && sure ? all[0].left_pct : null
    });
  }
  return found.sort((a, b) => a.least_pct - b.least_pct || a.most_pct - b.most_pct);
}

/**
 * Whether an observation takes, or may take, part of the section, under any value that stands.
 * @param {Fields} fields
 * @param {Disputed | null} conflicts
 * @param {Narrowings} table
 * @returns {boolean}
 */
export function mayNarrow(fields, conflicts, table) {
  return variants(fields, conflicts).some((may) => table.rows.some((row) => fits(row, may) !== null));
}

/**
 * The records whose quantities hold somewhere in the length, in order of making.
 * @param {ObservationRecord[]} observations
 * @param {ContinuousItem[]} items
 * @param {[number, number]} ends
 * @param {number | null} endCounterM
 * @returns {ObservationRecord[]}
 */
function inside(observations, items, ends, endCounterM) {
  const paired = new Set();
  const here = new Set();
  for (const item of items) {
    for (const id of [item.start_id, item.finish_id, ...item.change_ids]) paired.add(id);
    for (const part of item.parts) {
      let toM = part.to_counter_m;
      if (toM === null) toM = endCounterM === null || !item.open ? part.from_counter_m : endCounterM;
      if (part.from_counter_m <= ends[1] && toM >= ends[0]) here.add(part.record_id);
    }
  }
  for (const { id, fields } of observations) {
    const atM = fields.counter_m ?? null;
    if (!paired.has(id) && atM !== null && ends[0] <= atM && atM <= ends[1]) here.add(id);
  }
  return observations.filter((one) => here.has(one.id));
}

/** @param {Fields} fields @param {Pipe} pipe @param {Narrowings} table @returns {Judged | null} */
function judged(fields, pipe, table) {
  for (const row of table.rows) {
    const sure = fits(row, fields);
    if (sure !== null) return { ...left(row.form, fields, pipe, table), form: row.form, sure };
  }
  return null;
}

/**
 * True where a row fits, false where it may, null where it does not.
 * @param {NarrowingRow} row
 * @param {Fields} fields
 * @returns {boolean | null}
 */
function fits(row, fields) {
  if (row.code !== fields.code) return null;
  let sure = true;
  for (const name of /** @type {const} */ (['characterisation_1', 'characterisation_2'])) {
    const value = fields[name];
    if (row[name].length && value && !row[name].includes(value)) return null;
    sure = sure && Boolean(value || row[name].length === 0);
  }
  return sure;
}

/** @param {string} form @param {Fields} fields @param {Pipe} pipe @param {Narrowings} table */
function left(form, fields, pipe, table) {
  if (form === BLOCKS) return { least_pct: 0, most_pct: 0, left_pct: 0 };
  const size = form === UNSIZED ? null : (fields.quantification_1 ?? null);
  if (size === null) return { least_pct: 0, most_pct: 100, left_pct: null };
  if (size <= 0) return { least_pct: 100, most_pct: 100, left_pct: 100 };
  const by = form === 'step' ? table.estimate_mm : table.estimate_pct;
  const [[least], [, most], [low, high]] = [size + by, Math.max(0, size - by), size].map((one) =>
    share(form, one, pipe)
  );
  return { least_pct: least, most_pct: most, left_pct: low === high ? low : null };
}

/** @param {string} form @param {number} size @param {Pipe} pipe @returns {[number, number]} */
function share(form, size, pipe) {
  const found = capacityLeft(
    form,
    size,
    pipe.bore,
    pipe.bore?.kind ?? null,
    pipe.gradient ?? null,
    pipe.roughness_mm || 1.5
  );
  return found.low_pct === null || found.high_pct === null ? [0, 100] : [found.low_pct, found.high_pct];
}
