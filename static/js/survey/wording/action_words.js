/**
 * Suggested actions in words, and those that the surveyor chose. Twin of
 * webapp/survey/wording/action_words.py.
 */
import { decimalText } from '../numbers/decimals.js';
import { spanText } from './grading_words.js';

export const SUGGESTION = 'A suggestion for a competent person.';

/**
 * @param {string} action
 * @param {string | null} urgency
 * @param {any} table
 * @param {string | null} [most]
 * @returns {string}
 */
export function actionWords(action, urgency, table, most = null) {
  const label = table.actions.find((/** @type {any} */ row) => row.action === action)?.label ?? action;
  const same = most === null || most === urgency;
  if (urgency === null || (urgency === 'no_term' && same)) return label;
  const term = (/** @type {string | null} */ one) =>
    table.urgencies.find((/** @type {any} */ row) => row.urgency === one)?.label ?? one;
  return same ? `${label}, ${term(urgency)}` : `${label}, ${term(urgency)}, ${term(most)} at worst`;
}

/** @param {Object<string, any> | null} steps @param {any} table @returns {string[]} */
export function chosenWords(steps, table) {
  if (!steps || Object.keys(steps).length === 0) return [];
  const chosen = table.actions
    .map((/** @type {any} */ row) => row.action)
    .filter((/** @type {string} */ action) => action in steps);
  const lines = chosen.map((/** @type {string} */ action) => actionWords(action, steps[action], table));
  if (steps.no_action) lines.push(actionWords('none', null, table));
  if (steps.why) lines.push(`“${steps.why}”`);
  return lines;
}

/**
 * @param {import('../grading/actions.js').Reason} reason
 * @param {string} what
 * @param {any} scheme
 * @returns {string}
 */
export function actionReasonWords(reason, what, scheme) {
  const { why, values } = reason;
  if (why === 'nothing') return 'Nothing recorded there calls for more.';
  if (why === 'ungraded')
    return 'Nothing with a class calls for more; what has none is for an engineer to judge.';
  if (why === 'unseen') return `${decimalText(values.unseen_m, 2)} m of it could not be seen.`;
  if (why === 'no_extent') return 'How far it was surveyed is not recorded.';
  if (why === 'immediate') {
    const { words } = scheme.immediate.find((/** @type {any} */ row) => row.condition === values.condition);
    return `${what}: ${words.slice(0, 1).toLowerCase()}${words.slice(1)}.`;
  }
  if (why === 'narrows') return `${what}: operation, class ${span(values)}.`;
  if (why === 'damage') return `${what}: ${values.goal}, class ${span(values)}.`;
  if (why === 'hazard') return `${values.words}.`;
  if (why === 'long')
    return `Damage from class ${values.from_class} takes ${decimalText(values.share_pct, 0)} % of the length (computed).`;
  if (why === 'many') return `Damage from class ${values.from_class} at ${values.places} places.`;
  return levelWords(why, values);
}

/** @param {string} why @param {Object<string, any>} values @returns {string} */
function levelWords(why, values) {
  if (why === 'place_loose') {
    return `The far end is known only within ${decimalText(Math.ceil(values.radius_m - 1e-9), 0)} m (computed); a position taken there settles it.`;
  }
  const far = decimalText(values.far_m, 2);
  const there = values.both_ends
    ? `Levels at the start and at the far end, chainage ${far} m,`
    : `A level at the far end, chainage ${far} m,`;
  const then = `sd ${decimalText(values.then_sd_m, 3)} m (computed)`;
  if (why === 'levels_bounded') {
    const gap = decimalText(values.gap_m, 2);
    if (values.gaps === 1)
      return `From ${gap} m on the levels are only bounds. ${there} would settle the fall, to ${then}.`;
    return (
      `From ${gap} m on the levels are only bounds, for ${values.gaps} readings beyond the range. ` +
      `${there} would settle the whole fall, to ${then}; between them bounds remain.`
    );
  }
  return `The level of the end is known to sd ${decimalText(values.now_sd_m, 3)} m (computed). ${there} would bring it to ${then}.`;
}

/** @param {Object<string, any>} values @returns {string} */
function span(values) {
  return spanText(String(values.low), String(values.high));
}
