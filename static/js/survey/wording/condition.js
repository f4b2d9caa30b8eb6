/**
 * Condition classes, how they came about, and what to do next, in words. Twin of
 *   webapp/survey/wording/condition.py.
 */
import { GOALS } from '../grading/grading.js';
import { clauses, listed, message } from './messages.js';
import { fixedText, sizeText, spanText, unitText } from './quantities.js';
import { MIN_M, hazardLine } from './sight.js';

/** @typedef {import('./messages.js').Words} Words */
/** @typedef {import('../../records/tables.js').Actions} Actions */
/** @typedef {import('../../records/types.js').NextSteps} NextSteps */
/** @typedef {import('../grading/actions.js').ReasonValues} ReasonValues */
/** @typedef {import('../grading/prohibitions.js').HazardValues} HazardValues */
/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */
/** @typedef {import('../../records/tables.js').Goal} Goal */
/** @typedef {import('../grading/grading.js').Found} Found */
/** @typedef {import('../grading/run_grading.js').Graded} Graded */
/** @typedef {import('../grading/points.js').DamageNumber} DamageNumber */

/** @param {Words} words @param {Goal} goal @returns {string} */
export function goalWord(words, goal) {
  return message(words, `survey.grading.goal.${goal}`, {});
}

/** The letter that stands for it. @param {Words} words @param {string} goal @returns {string} */
export function goalLetter(words, goal) {
  return message(words, `survey.grading.letter.${goal}`, {});
}

/**
 * @param {Words} words
 * @param {number} low
 * @param {number} high
 * @param {GradingLimits} scheme
 * @returns {string}
 */
export function classWords(words, low, high, scheme) {
  const names = scheme.classes.map((one) => one.word);
  if (high === 0) return names[0];
  if (low === high) return message(words, 'survey.grading.class', { class: String(high), word: names[high] });
  return message(words, 'survey.grading.class_between', {
    low: String(low),
    low_word: names[low],
    high: String(high),
    high_word: names[high]
  });
}

/**
 * @param {Words} words
 * @param {number} low
 * @param {number} high
 * @param {number | null} unseenM
 * @param {number | null} lengthM
 * @param {GradingLimits} scheme
 * @returns {string}
 */
export function knownClassWords(words, low, high, unseenM, lengthM, scheme) {
  const found = classWords(words, low, high, scheme);
  const notKnown = message(words, 'survey.not_known', {});
  if (unseenM === null)
    return high === 0 ? notKnown : message(words, 'survey.grading.as_recorded', { class: found });
  if (unseenM <= MIN_M) return found;
  const values = { class: found, unseen_m: fixedText(words, unseenM, 2) };
  if (high !== 0) return message(words, 'survey.grading.not_known_over', values);
  return lengthM !== null && lengthM - unseenM <= MIN_M
    ? notKnown
    : message(words, 'survey.grading.in_what_was_seen', values);
}

/** @param {Words} words @param {Found} one @param {GradingLimits} scheme @returns {string} */
export function basisWords(words, one, scheme) {
  let { basis, source, certainty } = scheme.rows[one.row];
  if (one.rule === 'capacity')
    [basis, source, certainty] = [
      scheme.narrowing_basis,
      scheme.narrowing_source,
      scheme.narrowing_certainty
    ];
  return basis === 'indicative'
    ? message(words, 'survey.grading.indicative', {})
    : message(words, 'survey.grading.basis', { source, certainty });
}

/** @param {Words} words @param {Found} one @param {GradingLimits} scheme @returns {string[]} */
export function reasonWords(words, one, scheme) {
  const values = {
    class: classWords(words, one.low, one.high, scheme),
    basis: basisWords(words, one, scheme)
  };
  const lines = [reached(words, one, values)];
  if (one.left_of === 'capacity') lines.push(message(words, 'survey.grading.as_if_along', {}));
  for (const code of one.findings) {
    const key = `survey.grading.finding.${code}`;
    lines.push(
      Object.hasOwn(words, key)
        ? message(words, key, {})
        : message(words, 'survey.grading.not_computed', { code })
    );
  }
  const { note } = scheme.rows[one.row];
  if (note) lines.push(note);
  if (one.review) lines.push(message(words, 'survey.grading.review', {}));
  return lines;
}

/** @param {Words} words @param {Found} one @param {Object<string, string>} values @returns {string} */
function reached(words, one, values) {
  if (one.left_of !== null) {
    const [low, high] = [
      fixedText(words, Number(one.left_low_pct), 1),
      fixedText(words, Number(one.left_high_pct), 1)
    ];
    const key = `survey.grading.leaves_${one.left_of === 'capacity' ? 'capacity' : 'area'}${low === high ? '' : '_bounded'}`;
    return message(words, key, { ...values, left: spanText(words, low, high) });
  }
  if (one.low !== one.high || one.findings.length)
    return message(words, 'survey.grading.class_basis', values);
  if (one.rule !== 'limits') return message(words, 'survey.grading.whatever_size', values);
  const sizes = {
    size: sizeText(words, Number(one.quantity)),
    limit: sizeText(words, Number(one.limit)),
    unit: unitText(words, String(one.unit))
  };
  return message(words, 'survey.grading.from_limit', { ...values, ...sizes });
}

/**
 * @param {Words} words
 * @param {Graded} one
 * @param {Goal} goal
 * @param {GradingLimits} scheme
 * @returns {string[]}
 */
export function stepWords(words, one, goal, scheme) {
  const found = one.classes[goal] ?? null;
  if (found === null) return [];
  const number = /** @type {DamageNumber} */ (one.numbers[goal]);
  const { points } = one;
  const lines = reasonWords(words, found, scheme);
  const add = (/** @type {string} */ key, /** @type {Object<string, string>} */ values) =>
    lines.push(message(words, `survey.grading.${key}`, values));
  add('to_number', {
    points: span(words, scheme.classes[found.low].number, scheme.classes[found.high].number)
  });
  for (const index of points.parts) {
    const row = scheme.extra_points[index];
    if (row[goal] !== null)
      add('extra', { points: signed(words, row[goal]), label: row.label, source: row.source });
  }
  add('recorded', { number: span(words, number.recorded_low, number.recorded_high) });
  const open = points.missing.filter((name) => matters(name, goal, scheme));
  if (open.length)
    add('missing', { missing: missingWords(words, open), number: span(words, number.low, number.high) });
  add('so', {
    class: classWords(words, found.low, found.high, scheme),
    number: numberWords(words, one, goal, scheme)
  });
  return lines;
}

/**
 * The last line of how it was worked out.
 * @param {Words} words
 * @param {Graded} one
 * @param {Goal} goal
 * @param {GradingLimits} scheme
 * @returns {string}
 */
export function numberWords(words, one, goal, scheme) {
  const number = /** @type {DamageNumber} */ (one.numbers[goal]);
  const open = one.points.missing.some((name) => matters(name, goal, scheme));
  const points = open
    ? span(words, number.low, number.high)
    : span(words, number.recorded_low, number.recorded_high);
  return message(words, 'survey.grading.points', { points });
}

/** @param {Words} words @param {string[]} names @returns {string} */
export function missingWords(words, names) {
  return listed(
    words,
    names.map((name) => message(words, `survey.grading.input.${name}`, {}))
  );
}

/**
 * @param {Words} words
 * @param {import('../grading/run_grading.js').Summary} summary
 * @param {GradingLimits} scheme
 * @returns {string[]}
 */
export function objectWords(words, summary, scheme) {
  if (summary.number_low === null || summary.number_high === null)
    return [message(words, 'survey.grading.no_number', {})];
  const lines = [
    message(words, 'survey.grading.greatest', {
      number: span(words, summary.number_low, summary.number_high),
      class: classWords(words, summary.class_low, summary.class_high, scheme),
      meaning: scheme.classes[summary.class_high].meaning
    })
  ];
  if (summary.bound_low !== summary.number_low || summary.bound_high !== summary.number_high) {
    lines.push(
      message(words, 'survey.grading.may_be', {
        number: span(words, Number(summary.bound_low), Number(summary.bound_high))
      })
    );
  }
  const [low, high] = [fixedText(words, summary.length_number_low, 0), summary.length_number_high];
  if (high === null) lines.push(message(words, 'survey.grading.length_at_least', { number: low }));
  else
    lines.push(
      message(words, 'survey.grading.length', { number: spanText(words, low, fixedText(words, high, 0)) })
    );
  return lines;
}

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

/** @param {Words} words @param {number} low @param {number} high @returns {string} */
function span(words, low, high) {
  return spanText(words, sizeText(words, low), sizeText(words, high));
}

/** @param {Words} words @param {number} value @returns {string} */
function signed(words, value) {
  return value > 0 ? `+${sizeText(words, value)}` : sizeText(words, value);
}

/** @param {string} name @param {Goal} goal @param {GradingLimits} scheme @returns {boolean} */
function matters(name, goal, scheme) {
  return GOALS.includes(goal) && scheme.extra_points.some((row) => row.input === name && row[goal] !== null);
}
