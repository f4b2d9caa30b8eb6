/**
 * What a hazard forbids, and the plan of a stretch under it: a "do not" outranks every "do". Twin of
 * webapp/survey/grading/prohibitions.py.
 */
import { ORDER } from './actions.js';
import { chainageM } from '../instruments/counter.js';

/** @typedef {import('./actions.js').Suggested} Suggested */
/** @typedef {import('./actions.js').Suggestion} Suggestion */
/** @typedef {import('./hazards.js').Hazard} Hazard */
/**
 * What a sentence about a hazard is filled with [m].
 * @typedef {{label: string, from_m: number | null, to_m: number | null, sure: boolean}} HazardValues
 */
/** @typedef {import('../../records/tables.js').Act} Act */
/** @typedef {import('../../records/tables.js').Actions} Actions */
/** @typedef {import('../../records/tables.js').HazardRow} HazardRow */
/**
 * @typedef {{act: Act, row: number, record_id: string, values: HazardValues, sure: boolean}}
 *   Forbidden
 */
/** @typedef {Suggested & {waiting: Suggestion[], forbidden: Forbidden[]}} Plan */

/**
 * @param {Suggested[]} suggested
 * @param {Hazard[]} hazards
 * @param {HazardRow[]} rows
 * @param {Actions} table
 * @param {number} zeroM
 * @param {number} scale
 * @returns {Plan[]}
 */
export function withProhibitions(suggested, hazards, rows, table, zeroM, scale) {
  const needs = new Map(table.actions.map((row) => [row.action, row.acts]));
  const values = (/** @type {Hazard} */ one) => valuesOf(one, rows, zeroM, scale);
  return suggested.map((one) => {
    const here = hazards.filter((hazard) => touches(one, hazard, suggested));
    const forbidden = forbiddenOf(hazards, here, rows, table, values);
    const acts = new Set(forbidden.map((ban) => ban.act));
    const held = (/** @type {Suggestion} */ act) =>
      needs.get(act.action)?.some((need) => acts.has(need)) ?? false;
    const waiting = one.actions.filter(held);
    const required = requiredBy(here, rows, table, values);
    const actions = one.actions.filter(
      (act) => !held(act) && !(act.action === 'none' && (required.length || waiting.length))
    );
    const ordered = [...required, ...actions].sort(
      (a, b) => ORDER.indexOf(a.action) - ORDER.indexOf(b.action)
    );
    return { ...one, actions: ordered, waiting, forbidden };
  });
}

/**
 * Whether a hazard lies in a stretch; one that lies in none belongs to all.
 * @param {Suggested} one
 * @param {Hazard} hazard
 * @param {Suggested[]} suggested
 */
function touches(one, hazard, suggested) {
  return inside(one, hazard) || !suggested.some((other) => inside(other, hazard));
}

/** @param {Suggested} one @param {Hazard} hazard @returns {boolean} */
function inside({ from_counter_m: start, to_counter_m: end }, hazard) {
  const fromM = hazard.from_counter_m;
  if (fromM === null) return false;
  const toM = hazard.to_counter_m ?? fromM;
  return (start === null || Math.max(fromM, toM) >= start) && (end === null || Math.min(fromM, toM) <= end);
}

/**
 * @param {Hazard[]} hazards
 * @param {Hazard[]} here
 * @param {HazardRow[]} rows
 * @param {Actions} table
 * @param {(one: Hazard) => HazardValues} values
 * @returns {Forbidden[]}
 */
function forbiddenOf(hazards, here, rows, table, values) {
  return table.acts.flatMap((act) =>
    (act.whole_run ? hazards : here)
      .filter((hazard) => rows[hazard.row].do_not.includes(act.act))
      .map((hazard) => ({
        act: act.act,
        row: hazard.row,
        record_id: hazard.record_id,
        values: values(hazard),
        sure: hazard.sure
      }))
  );
}

/**
 * What the hazards ask for, at once: one action each, with every hazard that asks for it.
 * @param {Hazard[]} here
 * @param {HazardRow[]} rows
 * @param {Actions} table
 * @param {(one: Hazard) => HazardValues} values
 * @returns {Suggestion[]}
 */
function requiredBy(here, rows, table, values) {
  const first = table.urgencies[0].urgency;
  /** @type {Map<string, Suggestion>} */
  const found = new Map();
  for (const hazard of here) {
    const action = rows[hazard.row].do;
    if (action === null) continue;
    /** @type {Suggestion} */
    const made = found.get(action) ?? {
      action,
      urgency: first,
      urgency_most: first,
      sure: false,
      reasons: []
    };
    found.set(action, made);
    made.sure = made.sure || hazard.sure;
    made.reasons.push({ why: 'hazard', graded: null, values: values(hazard) });
  }
  return [...found.values()];
}

/**
 * What a sentence about a hazard needs.
 * @param {Hazard} hazard
 * @param {HazardRow[]} rows
 * @param {number} zeroM
 * @param {number} scale
 * @returns {HazardValues}
 */
function valuesOf(hazard, rows, zeroM, scale) {
  const place = (/** @type {number | null} */ counterM) =>
    counterM === null ? null : chainageM(counterM, zeroM, scale);
  return {
    label: rows[hazard.row].label,
    from_m: place(hazard.from_counter_m),
    to_m: place(hazard.to_counter_m),
    sure: hazard.sure
  };
}
