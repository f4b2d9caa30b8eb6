/** What to do next, and what must not be done, in words. Twin of webapp/survey/wording/next_steps.py. */
import { clauses, message } from './messages.js';
import { fixedText, spanText } from './quantities.js';
import { hazardLine } from './sight.js';

/** @typedef {import('./messages.js').Words} Words */
/** @typedef {import('../../records/tables.js').Actions} Actions */
/** @typedef {import('../../records/types.js').NextSteps} NextSteps */
/** @typedef {import('../grading/actions.js').ReasonValues} ReasonValues */
/** @typedef {import('../grading/prohibitions.js').HazardValues} HazardValues */
/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */

/**
 * @param {Words} words
 * @param {string} action
 * @param {string | null} urgency
 * @param {Actions} table
 * @param {string | null} [most]
 * @returns {string}
 */
export function actionWords(words, action, urgency, table, most = null) {
  const label = table.actions.find((row) => row.action === action)?.label ?? action;
  const same = most === null || most === urgency;
  if (urgency === null || (urgency === 'no_term' && same)) return label;
  const term = (/** @type {string | null} */ one) =>
    table.urgencies.find((row) => row.urgency === one)?.label ?? String(one);
  const values = { action: label, term: term(urgency) };
  return same
    ? message(words, 'survey.action.term', values)
    : message(words, 'survey.action.term_at_worst', { ...values, most: term(most) });
}

/** @param {Words} words @param {NextSteps | null} steps @param {Actions} table @returns {string[]} */
export function chosenWords(words, steps, table) {
  if (!steps || Object.keys(steps).length === 0) return [];
  const given = /** @type {Object<string, string>} */ (steps);
  const lines = table.actions
    .filter(({ action }) => action in steps)
    .map(({ action }) => actionWords(words, action, given[action], table));
  if (steps.no_action) lines.push(actionWords(words, 'none', null, table));
  if (steps.why) lines.push(message(words, 'survey.action.quoted', { text: steps.why }));
  return lines;
}

/**
 * @param {Words} words
 * @param {import('../grading/actions.js').Reason} found
 * @param {string} what
 * @param {GradingLimits} scheme
 * @returns {string}
 */
export function actionReasonWords(words, found, what, scheme) {
  const { why, values } = found;
  const say = (/** @type {string} */ key, /** @type {Object<string, string | number>} */ given) =>
    message(words, `survey.action.${key}`, given);
  if (why === 'unseen') return say('unseen', { m: fixedText(words, values.unseen_m, 2) });
  if (why === 'immediate') {
    const row = scheme.immediate.find((one) => one.condition === values.condition);
    return say('immediate', { what, condition: row?.words ?? '' });
  }
  if (why === 'narrows' || why === 'damage') {
    const goal = why === 'narrows' ? 'operation' : values.goal;
    return say(goal, { what, class: spanText(words, String(values.low), String(values.high)) });
  }
  if (why === 'hazard') return say('hazard', { hazard: hazard(words, /** @type {HazardValues} */ (values)) });
  if (why === 'long')
    return say('long', {
      class: String(values.from_class),
      share_pct: fixedText(words, values.share_pct, 0)
    });
  if (why === 'many') return say('many', { class: String(values.from_class), n: values.places });
  return ['nothing', 'ungraded', 'no_extent'].includes(why) ? say(why, {}) : levelWords(words, why, values);
}

/** @param {Words} words @param {string} why @param {ReasonValues} values @returns {string} */
function levelWords(words, why, values) {
  if (why === 'place_loose') {
    return message(words, 'survey.action.place_loose', {
      radius_m: fixedText(words, Math.ceil(values.radius_m - 1e-9), 0)
    });
  }
  const which = values.both_ends ? 'both_ends' : 'far_end';
  const sizes = { far_m: fixedText(words, values.far_m, 2), then_m: fixedText(words, values.then_sd_m, 3) };
  if (why === 'levels_bounded') {
    const key = `survey.action.bounded_${which}${values.gaps === 1 ? '' : '_more'}`;
    return message(words, key, { ...sizes, gap_m: fixedText(words, values.gap_m, 2), n: values.gaps });
  }
  return message(words, `survey.action.loose_${which}`, {
    ...sizes,
    now_m: fixedText(words, values.now_sd_m, 3)
  });
}

/**
 * @param {Words} words
 * @param {Array<{act: string, values: HazardValues}>} forbidden
 * @param {Actions} table
 * @returns {string[]}
 */
export function forbiddenWords(words, forbidden, table) {
  return table.acts.flatMap((act) => {
    const whys = [
      ...new Set(forbidden.filter((one) => one.act === act.act).map((one) => hazard(words, one.values)))
    ];
    return whys.length
      ? [
          message(words, 'survey.action.forbidden', {
            act: act.words,
            why: clauses(
              words,
              whys.map((why) => message(words, 'survey.action.because', { why }))
            )
          })
        ]
      : [];
  });
}

/** @param {Words} words @param {HazardValues} values @returns {string} */
function hazard(words, values) {
  return hazardLine(words, values.label, values.from_m, values.to_m, values.sure);
}
