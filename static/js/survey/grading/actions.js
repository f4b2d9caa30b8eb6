/** What to do next: suggestions for a competent person, by rule. Twin of webapp/survey/grading/actions.py. */
import { GOALS } from './grading.js';

/** @typedef {import('./run_grading.js').Graded} Graded */
/** @typedef {import('./run_grading.js').Summary} Summary */
/** @typedef {Object<string, any>} ReasonValues   lengths [m], counts, classes and words, by reason */
/** @typedef {{why: string, graded: number | null, values: ReasonValues}} Reason */
/** @typedef {import('../../records/tables.js').Actions} Actions */
/** @typedef {import('../../records/tables.js').ActionName} ActionName */
/** @typedef {import('../../records/tables.js').Goal} Goal */
/** @typedef {import('../../records/types.js').Urgency} Urgency */
/**
 * @typedef {{action: ActionName, urgency: Urgency, urgency_most: Urgency, sure: boolean, reasons: Reason[]}}
 *   Suggestion
 */
/** @typedef {'stretch' | 'run'} ObjectKind */
/**
 * What of the levels and of the trace would be settled at the far end [m].
 * @typedef {{far_m?: number, now_sd_m?: number | null, then_sd_m?: number | null, both_ends?: boolean,
 *   gaps_m?: number[], radius_m?: number | null}} LevelFacts
 */
/**
 * @typedef {{kind: ObjectKind, id: string | null, from_counter_m: number | null, to_counter_m: number | null,
 *   actions: Suggestion[]}} Suggested
 */

const MIN_M = 0.005; // less is nothing at two decimals
/** @type {ActionName[]} */
export const ORDER = [
  'report_air',
  'find_owner',
  'check_ground',
  'dig_expose',
  'clean',
  'survey_again',
  'repair_point',
  'renew',
  'level_far_end',
  'none'
];

/**
 * @param {import('./run_grading.js').Grading} grading
 * @param {LevelFacts} levels
 * @param {Actions} table
 * @param {number} scale
 * @returns {Suggested[]}
 */
export function suggestedActions(grading, levels, table, scale) {
  const outside = grading.graded.map((_, k) => k).filter((k) => grading.graded[k].stretch_id === null);
  /** @type {Array<{kind: ObjectKind, one: Summary}>} */
  const objects = grading.stretches.map((one) => ({ kind: 'stretch', one }));
  const unseen = unseenOutside(grading);
  if (outside.length || objects.length === 0 || (unseen !== null && unseen > MIN_M)) {
    objects.push({ kind: 'run', one: { ...grading.run, graded: outside, unseen_m: unseen } });
  }
  const last = lastOf(objects);
  return objects.map(({ kind, one }, place) => {
    let actions = [...forOne(one, grading.graded, table, scale), ...again(one, table)];
    if (place === last) actions.push(...level(levels, table));
    const why = grading.ungraded.length ? 'ungraded' : 'nothing';
    if (actions.length === 0) actions = [suggestion('none', [0, 0], [reason(why, null, {})], table)];
    actions.sort((a, b) => ORDER.indexOf(a.action) - ORDER.indexOf(b.action));
    return { kind, id: one.id, from_counter_m: one.from_counter_m, to_counter_m: one.to_counter_m, actions };
  });
}

/**
 * How much of what could not be seen lies in no stretch.
 * @param {import('./run_grading.js').Grading} grading
 * @returns {number | null}
 */
function unseenOutside(grading) {
  const { unseen_m: whole = 0 } = grading.run;
  if (whole === null) return null;
  return whole - grading.stretches.reduce((sum, one) => sum + (one.unseen_m || 0), 0);
}

/**
 * What was not seen is surveyed again: nothing can be ruled out there.
 * @param {Summary} summary
 * @param {Actions} table
 * @returns {Suggestion[]}
 */
function again(summary, table) {
  const { unseen_m: unseen = 0 } = summary;
  /** @type {[number, number]} */
  const asClass = [table.unseen_class, table.unseen_class];
  if (unseen === null)
    return [{ ...suggestion('survey_again', asClass, [reason('no_extent', null, {})], table), sure: false }];
  if (unseen <= MIN_M) return [];
  return [suggestion('survey_again', asClass, [reason('unseen', null, { unseen_m: unseen })], table)];
}

/**
 * The object at whose end the surveyed run ends.
 * @param {Array<{kind: ObjectKind, one: Summary}>} objects
 * @returns {number}
 */
function lastOf(objects) {
  let best = objects.length - 1;
  let furthest = -1;
  objects.forEach(({ kind, one }, place) => {
    if (kind === 'stretch' && one.from_counter_m !== null && one.from_counter_m > furthest)
      [best, furthest] = [place, one.from_counter_m];
  });
  return best;
}

/**
 * @param {Summary} summary
 * @param {Graded[]} graded
 * @param {Actions} table
 * @param {number} scale
 * @returns {Suggestion[]}
 */
function forOne(summary, graded, table, scale) {
  const mine = summary.graded.map((k) => ({ k, one: graded[k] }));
  if (mine.length === 0) return [];
  const [digging, dug] = dig(mine, table);
  const mending = mend(summary, mine, dug, table, scale);
  let cleaning = clean(mine, table);
  // cleaning is part of renewing, and no sooner needed
  if (cleaning && mending?.action === 'renew' && presses(mending, cleaning, table)) cleaning = null;
  return [digging, cleaning, mending].filter((one) => one !== null);
}

/** Whether the first presses at least as much as the second, at its surest and at its worst.
 * @param {Suggestion} one @param {Suggestion} other @param {Actions} table */
function presses(one, other, table) {
  const order = table.urgencies.map((row) => row.urgency);
  return (
    order.indexOf(one.urgency) <= order.indexOf(other.urgency) &&
    order.indexOf(one.urgency_most) <= order.indexOf(other.urgency_most)
  );
}

/**
 * Where the ground is opened, and what is mended there with it.
 * @param {Array<{k: number, one: Graded}>} mine
 * @param {Actions} table
 * @returns {[Suggestion | null, Set<number>]}
 */
function dig(mine, table) {
  /** @type {Reason[]} */
  const reasons = [];
  /** @type {Set<number>} */
  const dug = new Set();
  let sure = false;
  for (const { k, one } of mine) {
    for (const condition of one.immediate) {
      if (!table.dig_conditions.includes(condition.condition)) continue;
      reasons.push(reason('immediate', k, { condition: condition.condition }));
      sure = sure || condition.sure;
      if (condition.sure) dug.add(k);
    }
  }
  return [reasons.length ? { ...suggestion('dig_expose', [5, 5], reasons, table), sure } : null, dug];
}

/** @param {Array<{k: number, one: Graded}>} mine @param {Actions} table @returns {Suggestion | null} */
function clean(mine, table) {
  /** @type {Reason[]} */
  const reasons = [];
  let [low, high] = [0, 0];
  for (const { k, one } of mine) {
    const found = one.classes.operation;
    if (!table.clean_codes.includes(one.code) || found === null) continue;
    if (found.high < table.clean_from_class) continue;
    reasons.push(reason('narrows', k, { low: found.low, high: found.high }));
    [low, high] = [Math.max(low, found.low), Math.max(high, found.high)];
  }
  return fromClass('clean', [low, high], table.clean_from_class, reasons, table);
}

/**
 * Repair where damage is rare, renew where it is long or at many places; not what the digging mends.
 * @param {Summary} summary
 * @param {Array<{k: number, one: Graded}>} mine
 * @param {Set<number>} dug
 * @param {Actions} table
 * @param {number} scale
 * @returns {Suggestion | null}
 */
function mend(summary, mine, dug, table, scale) {
  const from = table.repair_from_class;
  let hurt = mine
    .map(({ k, one }) => ({ k, one, found: damage(one, table) }))
    .filter(({ found }) => found[1] >= from);
  const places = new Set(hurt.map(({ one }) => one.record_id)).size;
  const share = shareOf(
    summary,
    hurt.reduce((sum, { one }) => sum + (one.length_m || 0), 0),
    scale
  );
  const long = share !== null && share >= table.renew_from_share_pct;
  const many = long || places >= table.renew_from_places;
  if (!many) hurt = hurt.filter(({ k }) => !dug.has(k));
  /** @type {Reason[]} */
  const reasons = [];
  if (long) reasons.push(reason('long', null, { share_pct: share, from_class: from }));
  else if (many) reasons.push(reason('many', null, { places, from_class: from }));
  let [low, high] = [0, 0];
  for (const { k, one, found } of hurt) {
    reasons.push(
      reason('damage', k, { goal: found[2], low: found[2] && one.classes[found[2]]?.low, high: found[1] })
    );
    [low, high] = [Math.max(low, found[0]), Math.max(high, found[1])];
  }
  return fromClass(many ? 'renew' : 'repair_point', [low, high], from, reasons, table);
}

/**
 * As urgent as what is sure makes it, and at most as what may be; null without a reason.
 * @param {ActionName} action
 * @param {[number, number]} worst
 * @param {number} from
 * @param {Reason[]} reasons
 * @param {Actions} table
 * @returns {Suggestion | null}
 */
function fromClass(action, [low, high], from, reasons, table) {
  if (reasons.length === 0) return null;
  return { ...suggestion(action, [Math.max(low, from), high], reasons, table), sure: low >= from };
}

/**
 * The worst class that cleaning alone does not mend, and the goal it is of.
 * @param {Graded} one
 * @param {Actions} table
 * @returns {[number, number, Goal | null]}
 */
function damage(one, table) {
  let [low, high] = [0, 0];
  /** @type {Goal | null} */
  let goal = null;
  for (const name of GOALS) {
    const found = one.classes[name];
    if (found === null || (name === 'operation' && table.clean_codes.includes(one.code))) continue;
    low = Math.max(low, found.low);
    if (found.high > high) [high, goal] = [found.high, name];
  }
  return [low, high, goal];
}

/** @param {Summary} summary @param {number} longM @param {number} scale @returns {number | null} */
function shareOf(summary, longM, scale) {
  const [start, end] = [summary.from_counter_m, summary.to_counter_m];
  if (start === null || end === null || end <= start) return null;
  return (100 * longM) / ((end - start) * scale);
}

/**
 * Level the far end where the levels or the place of it are not known well enough.
 * @param {LevelFacts} levels
 * @param {Actions} table
 * @returns {Suggestion[]}
 */
function level(levels, table) {
  /** @type {Reason[]} */
  const reasons = [];
  const [farM, thenM, nowM] = [levels.far_m ?? null, levels.then_sd_m ?? null, levels.now_sd_m ?? null];
  const values = { far_m: farM, then_sd_m: thenM, both_ends: Boolean(levels.both_ends) };
  const gaps = levels.gaps_m ?? [];
  if (gaps.length && thenM !== null)
    reasons.push(reason('levels_bounded', null, { gap_m: gaps[0], gaps: gaps.length, ...values }));
  if (!gaps.length && nowM !== null && thenM !== null && nowM > table.level_sd_m)
    reasons.push(reason('levels_loose', null, { now_sd_m: nowM, ...values }));
  const radiusM = levels.radius_m ?? null;
  if (radiusM !== null && radiusM > table.search_radius_m)
    reasons.push(reason('place_loose', null, { radius_m: radiusM }));
  return reasons.length ? [suggestion('level_far_end', [2, 2], reasons, table)] : [];
}

/** @param {string} why @param {number | null} graded @param {ReasonValues} values @returns {Reason} */
function reason(why, graded, values) {
  return { why, graded, values };
}

/**
 * @param {ActionName} action
 * @param {[number, number]} worst
 * @param {Reason[]} reasons
 * @param {Actions} table
 * @returns {Suggestion}
 */
function suggestion(action, worst, reasons, table) {
  const [least, most] = worst.map(
    (one) =>
      /** @type {Actions['urgencies'][0]} */ (table.urgencies.find((row) => one >= row.from_class)).urgency
  );
  return { action, urgency: least, urgency_most: most, sure: true, reasons };
}
