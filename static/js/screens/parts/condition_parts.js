/** Parts of the condition screens: classes with their cause, the steps, what to do next. */
import { keepUnits } from '../../ui/format.js';
import { h } from '../../ui/elements.js';
import { classMark } from '../../ui/class_mark.js';
import { linkRow, note } from '../../ui/page.js';
import { findCode } from '../../survey/coding/codes.js';
import { GOALS } from '../../survey/grading/grading.js';
import { MIN_M } from '../../survey/wording/sight.js';
import {
  actionReasonWords,
  actionWords,
  basisWords,
  chosenWords,
  classWords,
  forbiddenWords,
  goalLetter,
  goalWord,
  knownClassWords,
  placeText as place,
  stepWords
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../survey/grading/run_grading.js').Graded} Graded */
/** @typedef {import('../../survey/grading/run_grading.js').Summary} Summary */
/** @typedef {string | ((recordId: string) => string)} At address of a run */
/** @typedef {import('../../survey/grading/prohibitions.js').Plan} Plan */

/** @typedef {import('../../ui/types.js').App} App */

/**
 * What was graded and where: "Roots at 12.05 m".
 * @param {App} app
 * @param {Figures} figures
 * @param {Graded} one
 * @returns {string}
 */
export function whatWhere(app, figures, one) {
  const title = findCode(app.tables.observation_codes.rows, one.code)?.title ?? one.code;
  if (one.from_counter_m === null) return t('condition.no_place', { title });
  const a = place(figures.placeOf(one.from_counter_m));
  if (one.to_counter_m === null) return t('condition.place_from_on', { title, a });
  if (one.to_counter_m === one.from_counter_m) return t('condition.place', { title, m: a });
  return t('condition.place_from', { title, a, b: place(figures.placeOf(one.to_counter_m)) });
}

/** @param {At} at of the run @param {{record_id: string}} one @param {string} words */
export function toObservation(at, one, words) {
  return h('a', { href: `${atOf(at, one.record_id)}/observations/${one.record_id}` }, keepUnits(words));
}

/**
 * The run in which an observation was made: of a length it is told by its id.
 * @param {At} at
 * @param {string} recordId
 * @returns {string}
 */
export function atOf(at, recordId) {
  return typeof at === 'string' ? at : at(recordId);
}

/**
 * The class of each goal, its word, and what caused it.
 * @param {App} app
 * @param {Figures} figures
 * @param {Summary} summary
 * @param {At} at
 */
export function goalRows(app, figures, summary, at) {
  const scheme = app.tables.grading_limits;
  const graded = figures.grading?.graded ?? [];
  return h(
    'div',
    { class: 'goals' },
    ...GOALS.map((goal) => {
      const { low, high, cause } = summary.goals[goal];
      const words = knownClassWords(low, high, unseenOf(summary), summary.extent_m ?? null, scheme);
      const one = cause === null ? null : graded[cause];
      return h(
        'div',
        { class: 'class-row', 'data-figure': goal },
        h('span', null, classMark(low, high, t('condition.mark', { words }), '', blind(summary))),
        h(
          'p',
          { class: 'class-words' },
          h('span', { class: 'class-name' }, goalWord(goal)),
          h('span', { class: 'class-word' }, words),
          one
            ? h(
                'span',
                { class: 'soft small class-basis' },
                ' ',
                t('value.aside', {
                  words: basisWords(
                    /** @type {NonNullable<typeof one.classes[goal]>} */ (one.classes[goal]),
                    scheme
                  )
                })
              )
            : null
        ),
        one
          ? h(
              'p',
              { class: 'class-why' },
              toObservation(at, one, t('condition.cause', { what: whatWhere(app, figures, one) }))
            )
          : h('p', { class: 'class-why soft small' }, t(noCause(summary))),
        one ? stepsOf(scheme, one, goal) : null
      );
    })
  );
}

/** @param {Summary} summary @returns {number | null} */
function unseenOf(summary) {
  return summary.unseen_m === undefined ? 0 : summary.unseen_m;
}

/** Why a class has no cause. @param {Summary} summary */
function noCause(summary) {
  const unseen = unseenOf(summary);
  if (unseen === null || Number(summary.extent_m ?? Infinity) - unseen <= MIN_M)
    return 'condition.cause_unseen';
  return blind(summary) ? 'condition.cause_blind' : 'condition.cause_none';
}

/** Whether part of it could not be seen. @param {Summary} summary */
function blind(summary) {
  const unseen = unseenOf(summary);
  return unseen === null || unseen > MIN_M;
}

/**
 * @param {import('../../records/tables.js').GradingLimits} scheme
 * @param {Graded} one
 * @param {import('../../records/tables.js').Goal} goal
 */
function stepsOf(scheme, one, goal) {
  return h(
    'details',
    { class: 'class-why' },
    h('summary', null, t('condition.how')),
    stepList(stepWords(one, goal, scheme))
  );
}

/** @param {string[]} lines */
export function stepList(lines) {
  return h('ol', { class: 'step-list' }, ...lines.map((words) => h('li', null, keepUnits(words))));
}

/**
 * The three goals in one line, each with its letter; nothing where nothing was graded.
 * @param {App} app
 * @param {Object<string, {low: number, high: number} | null>} goals
 * @param {Summary | null} [summary] of a run or stretch
 */
export function goalMarks(app, goals, summary = null) {
  const scheme = app.tables.grading_limits;
  return h(
    'span',
    { class: 'class-line' },
    ...GOALS.map((goal) => {
      const found = goals[goal];
      if (!found) return found;
      const words = summary
        ? knownClassWords(found.low, found.high, unseenOf(summary), summary.extent_m ?? null, scheme)
        : classWords(found.low, found.high, scheme);
      return classMark(
        found.low,
        found.high,
        t('value.labelled', { label: goalWord(goal), value: words }),
        goalLetter(goal),
        summary !== null && blind(summary)
      );
    })
  );
}

/**
 * The way from the log to the condition, with the classes so far.
 * @param {App} app
 * @param {Figures} figures
 * @param {string} at
 */
export function conditionRow(app, figures, at) {
  const { grading } = figures;
  if (!grading) return null;
  const urgent = grading.run.immediate.length;
  const name = app.tables.grading_limits.name;
  const under =
    grading.graded.length || blind(grading.run)
      ? h(
          'span',
          null,
          goalMarks(app, grading.run.goals, grading.run),
          h('span', { class: 'row-under' }, t('condition.preliminary', { name }))
        )
      : t('condition.under');
  const badge = urgent ? h('span', { class: 'tag tag-fault' }, t('condition.at_once')) : null;
  return h(
    'div',
    { class: 'rows' },
    linkRow(`${at}/condition`, 'shield', t('condition.title'), under, badge)
  );
}

/** The worst class of one observation, for the log. @param {App} app @param {Graded[]} graded pieces of it */
export function worstMark(app, graded) {
  const found = graded.flatMap((one) => GOALS.map((goal) => one.classes[goal])).filter((one) => one !== null);
  if (found.length === 0) return null;
  const [low, high] = [Math.max(...found.map((one) => one.low)), Math.max(...found.map((one) => one.high))];
  return classMark(
    low,
    high,
    t('condition.mark', { words: classWords(low, high, app.tables.grading_limits) })
  );
}

/** The suggestion and the surveyor's own version, one beside the other.
 * @param {App} app @param {Figures} figures @param {Plan} one
 * @param {import('../../records/types.js').NextSteps | null | undefined} steps */
export function nextBlock(app, figures, one, steps) {
  const { actions: table, grading_limits: scheme } = app.tables;
  const graded = figures.grading?.graded ?? [];
  const own = chosenWords(steps ?? null, table);
  const forbidden = forbiddenWords(one.forbidden, table);
  return h(
    'div',
    { class: 'stack-s', 'data-figure': 'next' },
    forbidden.length
      ? note(
          'fault',
          h(
            'ul',
            { class: 'stack-s graded', 'data-figure': 'forbidden' },
            ...forbidden.map((words) => h('li', null, keepUnits(words)))
          )
        )
      : null,
    h('p', { class: 'field-label' }, t('condition.suggested', { name: table.name })),
    h(
      'ol',
      { class: 'act-list' },
      ...one.actions.map((act) =>
        h(
          'li',
          { 'data-action': act.action },
          h('span', { class: 'act-name' }, actionWords(act.action, act.urgency, table, act.urgency_most)),
          ...(act.sure ? [] : [' ', t('value.aside', { words: t('condition.may') })]),
          act.reasons.length
            ? h(
                'ul',
                null,
                ...act.reasons.map((reason) =>
                  h(
                    'li',
                    null,
                    keepUnits(
                      actionReasonWords(
                        reason,
                        reason.graded === null ? '' : whatWhere(app, figures, graded[reason.graded]),
                        scheme
                      )
                    )
                  )
                )
              )
            : null
        )
      )
    ),
    ...one.waiting.map((act) =>
      h(
        'p',
        { class: 'soft', 'data-waiting': act.action },
        t('condition.waiting', {
          action: actionWords(act.action, act.urgency, table, act.urgency_most)
        })
      )
    ),
    h('p', { class: 'field-label' }, t('condition.surveyor')),
    own.length
      ? h(
          'ul',
          { class: 'act-own stack-s' },
          ...own.map((words, k) => h('li', { class: k === 0 ? 'act-name' : '' }, words))
        )
      : h('p', { class: 'soft' }, t('condition.surveyor_none'))
  );
}
