/** Grades a generated run on this side, words included; the tables are handed over once. Used by tests/survey/test_grading_parity.py. */
import { suggestedActions } from '../../static/js/survey/grading/actions.js';
import { classesOf, isGraded, pipeOf } from '../../static/js/survey/grading/grading.js';
import { classOfNumber, damageNumber, extraPoints } from '../../static/js/survey/grading/points.js';
import {
  basisWords,
  classWords,
  missingWords,
  objectWords,
  reasonWords,
  stepWords
} from '../../static/js/survey/wording/condition.js';
import {
  actionReasonWords,
  actionWords,
  chosenWords,
  forbiddenWords
} from '../../static/js/survey/wording/next_steps.js';
import { sizeText, spanText } from '../../static/js/survey/wording/quantities.js';
import { immediateConditions } from '../../static/js/survey/grading/immediate.js';
import { hazards } from '../../static/js/survey/grading/hazards.js';
import { withProhibitions } from '../../static/js/survey/grading/prohibitions.js';
import { runGrading } from '../../static/js/survey/grading/run_grading.js';

/** @type {{scheme: any, codes: any[], actions: any, hazards: any[], words: any}} */
let tables;

/** @param {typeof tables} given */
export function useTables(given) {
  tables = given;
}

/** @param {any} one @param {any} levels */
export function gradeCase(one, levels) {
  const { scheme, codes, actions, words } = tables;
  const { run, stretches, observations, items, scale } = one;
  const found = runGrading(
    { run, stretches, observations, items, capacityRows: one.carried, endCounterM: one.end_counter_m, scale },
    codes,
    scheme
  );
  const suggested = suggestedActions(found, levels, actions, one.scale);
  const dangers = hazards(one.observations, one.items, one.end_counter_m, tables.hazards);
  const plan = withProhibitions(suggested, dangers, tables.hazards, actions, 0.5, one.scale);
  return {
    found,
    suggested,
    plan,
    forbidden: plan.map((row) => forbiddenWords(words, row.forbidden, actions)),
    object: objectWords(words, found.run, scheme),
    steps: found.graded.map((graded) =>
      Object.keys(graded.classes).map((goal) => stepWords(words, graded, goal, scheme))
    ),
    said: suggested.flatMap((row) =>
      row.actions.map((act) => [
        actionWords(words, act.action, act.urgency, actions, act.urgency_most),
        ...act.reasons.map((reason) => actionReasonWords(words, reason, 'BBA C at 12.10 m', scheme))
      ])
    )
  };
}

/** @param {any} one @param {any} steps @param {number} low @param {number} high */
export function gradeParts(one, steps, low, high) {
  const { scheme, actions, words } = tables;
  const pipe = pipeOf(one.stretches[0]?.fields ?? null, one.carried[0] ?? null, scheme);
  return {
    pipe,
    word: classWords(words, low, high, scheme),
    span: spanText(words, String(low), String(high)),
    chosen: chosenWords(words, steps, actions),
    parts: one.observations.map((/** @type {any} */ { fields }) => {
      const classes = classesOf(fields, pipe, scheme);
      const points = extraPoints(fields, one.run, scheme);
      const number = damageNumber(low, high, points.operation, scheme);
      return {
        classes,
        points,
        number,
        graded: isGraded(fields.code, scheme),
        immediate: immediateConditions(fields, classes, one.run, scheme),
        step: classOfNumber(number.high, scheme),
        missing: missingWords(words, points.missing),
        size: sizeText(words, fields.quantification_1 ?? 0),
        words: Object.values(classes).map(
          (/** @type {any} */ found) =>
            found && [basisWords(words, found, scheme), ...reasonWords(words, found, scheme)]
        )
      };
    })
  };
}
