/** What to do next: suggestions for a competent person, by rule. Twin of webapp/survey/actions.py. */
import { GOALS } from './grading.js';

/** @typedef {import('./run_grading.js').Graded} Graded */
/** @typedef {import('./run_grading.js').Summary} Summary */
/** @typedef {{why: string, graded: number | null, values: Object<string, any>}} Reason */
/** @typedef {{action: string, urgency: string, sure: boolean, reasons: Reason[]}} Suggestion */
/** @typedef {{kind: string, id: string | null, from_counter_m: number | null, to_counter_m: number | null, actions: Suggestion[]}} Suggested */

const LEAST_M = 0.005; // less is nothing at two decimals
const ORDER = ['dig_expose', 'clean', 'survey_again', 'repair_point', 'renew', 'level_far_end', 'none'];

/** @param {import('./run_grading.js').Grading} grading @param {any} levels @param {any} table @param {number} scale @returns {Suggested[]} */
export function suggestedActions(grading, levels, table, scale) {
  const outside = grading.graded.map((_, k) => k).filter((k) => grading.graded[k].stretch_id === null);
  /** @type {Array<{kind: string, one: Summary}>} */
  const objects = grading.stretches.map((one) => ({ kind: 'stretch', one }));
  const unseen = unseenOutside(grading);
  if (outside.length || objects.length === 0 || (unseen !== null && unseen > LEAST_M)) {
    objects.push({ kind: 'run', one: { ...grading.run, graded: outside, unseen_m: unseen } });
  }
  const last = lastOf(objects);
  return objects.map(({ kind, one }, place) => {
    let actions = [...forOne(one, grading.graded, table, scale), ...again(one, table)];
    if (place === last) actions.push(...level(levels, table));
    const why = grading.ungraded.length ? 'ungraded' : 'nothing';
    if (actions.length === 0) actions = [suggestion('none', 0, true, [reason(why, null, {})], table)];
    actions.sort((a, b) => ORDER.indexOf(a.action) - ORDER.indexOf(b.action));
    return { kind, id: one.id, from_counter_m: one.from_counter_m, to_counter_m: one.to_counter_m, actions };
  });
}

/** How much of what could not be seen lies in no stretch. @param {any} grading @returns {number | null} */
function unseenOutside(grading) {
  const { unseen_m: whole = 0 } = grading.run;
  if (whole === null) return null;
  return whole - grading.stretches.reduce((/** @type {number} */ sum, /** @type {any} */ one) => sum + (one.unseen_m || 0), 0);
}

/** What was not seen is surveyed again: nothing can be ruled out there. @param {any} summary @param {any} table @returns {Suggestion[]} */
function again(summary, table) {
  const { unseen_m: unseen = 0 } = summary;
  if (unseen === null) return [suggestion('survey_again', table.unseen_class, false, [reason('no_extent', null, {})], table)];
  if (unseen <= LEAST_M) return [];
  return [suggestion('survey_again', table.unseen_class, true, [reason('unseen', null, { unseen_m: unseen })], table)];
}

/** The object at whose end the surveyed run ends. @param {Array<{kind: string, one: Summary}>} objects @returns {number} */
function lastOf(objects) {
  let best = objects.length - 1;
  let furthest = -1;
  objects.forEach(({ kind, one }, place) => {
    if (kind === 'stretch' && one.from_counter_m !== null && one.from_counter_m > furthest) [best, furthest] = [place, one.from_counter_m];
  });
  return best;
}

/** @param {Summary} summary @param {Graded[]} graded @param {any} table @param {number} scale @returns {Suggestion[]} */
function forOne(summary, graded, table, scale) {
  const mine = summary.graded.map((k) => ({ k, one: graded[k] }));
  if (mine.length === 0) return [];
  return [dig(mine, table), clean(mine, table), mend(summary, mine, table, scale)].filter((one) => one !== null);
}

/** @param {Array<{k: number, one: Graded}>} mine @param {any} table @returns {Suggestion | null} */
function dig(mine, table) {
  /** @type {Reason[]} */
  const reasons = [];
  let sure = false;
  for (const { k, one } of mine) {
    for (const condition of one.immediate) {
      if (!table.dig_conditions.includes(condition.condition)) continue;
      reasons.push(reason('immediate', k, { condition: condition.condition }));
      sure = sure || condition.sure;
    }
  }
  return reasons.length ? suggestion('dig_expose', 5, sure, reasons, table) : null;
}

/** @param {Array<{k: number, one: Graded}>} mine @param {any} table @returns {Suggestion | null} */
function clean(mine, table) {
  /** @type {Reason[]} */
  const reasons = [];
  let worst = 0;
  let sure = false;
  for (const { k, one } of mine) {
    const found = one.classes.operation;
    if (!table.clean_codes.includes(one.code) || found === null) continue;
    if (found.high < table.clean_from_class) continue;
    reasons.push(reason('narrows', k, { high: found.high }));
    worst = Math.max(worst, found.high);
    sure = sure || found.low >= table.clean_from_class;
  }
  return reasons.length ? suggestion('clean', worst, sure, reasons, table) : null;
}

/** Repair where damage is rare, renew where it is long or at many places.
 * @param {Summary} summary @param {Array<{k: number, one: Graded}>} mine @param {any} table @param {number} scale @returns {Suggestion | null} */
function mend(summary, mine, table, scale) {
  /** @type {Reason[]} */
  const reasons = [];
  let [worst, sure, longM] = [0, false, 0];
  /** @type {Set<string>} */
  const places = new Set();
  for (const { k, one } of mine) {
    const [low, high, goal] = damage(one, table);
    if (high < table.repair_from_class) continue;
    reasons.push(reason('damage', k, { goal, high }));
    worst = Math.max(worst, high);
    sure = sure || low >= table.repair_from_class;
    longM += one.length_m || 0;
    places.add(one.record_id);
  }
  if (reasons.length === 0) return null;
  let many = places.size >= table.renew_from_places;
  const share = shareOf(summary, longM, scale);
  if (share !== null && share >= table.renew_from_share_pct) {
    reasons.unshift(reason('long', null, { share_pct: share, from_class: table.repair_from_class }));
    many = true;
  } else if (many) reasons.unshift(reason('many', null, { places: places.size, from_class: table.repair_from_class }));
  return suggestion(many ? 'renew' : 'repair_point', worst, sure, reasons, table);
}

/** The worst class that cleaning alone does not mend, and the goal it is of. @param {Graded} one @param {any} table @returns {[number, number, string]} */
function damage(one, table) {
  let [low, high, goal] = [0, 0, ''];
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
  return 100 * longM / ((end - start) * scale);
}

/** Level the far end where the levels or the place of it are not known well enough. @param {any} levels @param {any} table @returns {Suggestion[]} */
function level(levels, table) {
  /** @type {Reason[]} */
  const reasons = [];
  const [farM, thenM, nowM] = [levels.far_m ?? null, levels.then_sd_m ?? null, levels.now_sd_m ?? null];
  const values = { far_m: farM, then_sd_m: thenM, both_ends: Boolean(levels.both_ends) };
  const gaps = levels.gaps_m ?? [];
  if (gaps.length && thenM !== null) reasons.push(reason('levels_bounded', null, { gap_m: gaps[0], gaps: gaps.length, ...values }));
  if (!gaps.length && nowM !== null && thenM !== null && nowM > table.level_sd_m) reasons.push(reason('levels_loose', null, { now_sd_m: nowM, ...values }));
  const radiusM = levels.radius_m ?? null;
  if (radiusM !== null && radiusM > table.search_radius_m) reasons.push(reason('place_loose', null, { radius_m: radiusM }));
  return reasons.length ? [suggestion('level_far_end', 2, true, reasons, table)] : [];
}

/** @param {string} why @param {number | null} graded @param {Object<string, any>} values @returns {Reason} */
function reason(why, graded, values) {
  return { why, graded, values };
}

/** @param {string} action @param {number} worst @param {boolean} sure @param {Reason[]} reasons @param {any} table @returns {Suggestion} */
function suggestion(action, worst, sure, reasons, table) {
  const { urgency } = table.urgencies.find((/** @type {any} */ row) => worst >= row.from_class);
  return { action, urgency, sure, reasons };
}
