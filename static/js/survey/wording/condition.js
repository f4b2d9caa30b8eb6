/** Condition classes and how they came about, in words. Twin of webapp/survey/wording/condition.py. */
import { GOALS } from '../grading/grading.js';
import { listed, message } from './messages.js';
import { fixedText, sizeText, spanText, unitText } from './quantities.js';
import { MIN_M } from './sight.js';

/** @typedef {import('./messages.js').Words} Words */
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
