/**
 * The condition of a run: every observation graded where it lies, then the stretches and the whole run. Twin
 * of webapp/survey/grading/run_grading.py.
 */
import { pipeVariants } from '../flow/disputed_pipe.js';
import { variants } from '../coding/disputes.js';
import { GOALS, classesOf, isGraded, overVariants, pipeOf } from './grading.js';
import { classOfNumber, damageNumber, extraPoints } from './points.js';
import { immediateConditions, immediateOverVariants } from './immediate.js';
import { pieces } from './graded_pieces.js';

/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../records/tables.js').GradingLimits} GradingLimits */
/** @typedef {import('../../records/tables.js').ObservationCode} ObservationCode */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('../../records/tables.js').Goal} Goal */
/** @typedef {import('./graded_pieces.js').GradingFacts} GradingFacts */
/** @typedef {import('./graded_pieces.js').Piece} Piece */

/**
 * @typedef {{record_id: string, code: string, number: number | null, stretch_id: string | null,
 *   from_counter_m: number | null, to_counter_m: number | null, length_m: number | null, length_known:
 *   LengthKnown, classes: import('./grading.js').Classes, points: import('./points.js').Points, numbers:
 *   Record<Goal, import('./points.js').DamageNumber | null>,
 *   immediate: import('./immediate.js').Immediate[]}} Graded
 */
/** @typedef {'measured' | 'assumed' | 'unknown'} LengthKnown */
/** @typedef {{record_id: string, code: string}} Ungraded */
/** @typedef {{low: number, high: number, cause: number | null}} GoalClass */
/**
 * @typedef {{id: string | null, from_counter_m: number | null, to_counter_m: number | null, graded: number[],
 *   immediate: number[], goals: Record<Goal, GoalClass>, number_low: number | null, number_high: number |
 *   null, bound_low: number | null, bound_high: number | null, class_low: number, class_high: number,
 *   length_number_low: number, length_number_high: number | null, unseen_m?: number | null, extent_m?: number
 *   | null}} Summary
 */
/**
 * @typedef {{graded: Graded[], ungraded: Ungraded[], stretches: Summary[], run:
 *   Summary}} Grading
 */

const GRADED_GROUPS = ['fabric', 'operation'];

/**
 * @param {GradingFacts} facts
 * @param {ObservationCode[]} codeRows
 * @param {GradingLimits} scheme
 * @returns {Grading}
 */
export function runGrading(facts, codeRows, scheme) {
  const { stretches, observations, endCounterM } = facts;
  const carries = new Map(facts.capacityRows.map((row) => [row.id, row.carries ?? row]));
  const byId = new Map(stretches.map((one) => [one.id, pipeVariants(one).map((may) => may.fields)]));
  const groups = new Map(codeRows.map((row) => [row.code, row.group]));
  /** @type {Graded[]} */
  const graded = [];
  /** @type {Ungraded[]} */
  const ungraded = [];
  const disputed = new Map(observations.map((one) => [one.id, one.conflicts]));
  for (const piece of pieces(facts)) {
    const code = piece.fields.code || '';
    let one = null;
    const mays = variants(piece.fields, disputed.get(piece.record_id));
    if (mays.some((may) => isGraded(may.code || '', scheme))) {
      const carried = carries.get(piece.stretch_id ?? '') ?? null;
      const pipes = (byId.get(piece.stretch_id ?? '') ?? [null]).map((fields) =>
        pipeOf(fields, carried, scheme)
      );
      one = gradedOf(piece, mays, pipes, facts, scheme);
    }
    if (one !== null) graded.push(one);
    else if (
      GRADED_GROUPS.includes(groups.get(code) ?? 'fabric') &&
      !ungraded.some((other) => other.record_id === piece.record_id && other.code === code)
    ) {
      ungraded.push({ record_id: piece.record_id, code });
    }
  }
  return {
    graded,
    ungraded,
    stretches: stretches.map((one) => stretchOf(one, graded, scheme)),
    run: summary(
      null,
      null,
      endCounterM,
      graded,
      graded.map((_, k) => k),
      scheme
    )
  };
}

/**
 * @param {StretchRecord} stretch
 * @param {Graded[]} graded
 * @param {GradingLimits} scheme
 * @returns {Summary}
 */
function stretchOf(stretch, graded, scheme) {
  const mine = graded.map((_, k) => k).filter((k) => graded[k].stretch_id === stretch.id);
  const { from_counter_m: start = null, to_counter_m: end = null } = stretch.fields;
  return summary(stretch.id, start, end, graded, mine, scheme);
}

/**
 * @param {Piece} piece
 * @param {Fields[]} mays
 * @param {Array<import('./grading.js').Pipe>} pipes
 * @param {GradingFacts} facts
 * @param {GradingLimits} scheme
 * @returns {Graded | null}
 */
function gradedOf(piece, mays, pipes, { run, scale }, scheme) {
  const { fields } = piece;
  const each = mays.flatMap((may) => pipes.map((pipe) => ({ may, found: classesOf(may, pipe, scheme) })));
  const classes = overVariants(each.map((one) => one.found));
  const immediate = immediateOverVariants(
    each.map(({ may, found }) => immediateConditions(may, found, run, scheme))
  );
  if (GOALS.every((goal) => classes[goal] === null) && immediate.length === 0) return null;
  const points = extraPoints(fields, run, scheme);
  const numbers = GOALS.map((goal) => {
    const one = classes[goal];
    return [goal, one === null ? null : damageNumber(one.low, one.high, points[goal], scheme)];
  });
  const [length, provenance] = lengthOf(piece, scheme.point_length_m, scale);
  return {
    record_id: piece.record_id,
    code: fields.code || '',
    number: piece.number,
    stretch_id: piece.stretch_id,
    from_counter_m: piece.from_counter_m,
    to_counter_m: piece.to_counter_m,
    length_m: length,
    length_known: provenance,
    classes,
    points,
    numbers: /** @type {Graded['numbers']} */ (Object.fromEntries(numbers)),
    immediate
  };
}

/**
 * @param {Piece} piece
 * @param {number} pointM
 * @param {number} scale
 * @returns {[number | null, LengthKnown]}
 */
function lengthOf(piece, pointM, scale) {
  if (piece.to_counter_m === null) return [null, 'unknown'];
  let long = (piece.to_counter_m - Number(piece.from_counter_m)) * scale;
  if (piece.number === null && piece.fields.code === 'BAC')
    long = (piece.fields.quantification_1 || 0) / 1000;
  return long > pointM ? [long, 'measured'] : [pointM, 'assumed'];
}

/**
 * @param {string | null} id
 * @param {number | null} fromM
 * @param {number | null} toM
 * @param {Graded[]} graded
 * @param {number[]} mine
 * @param {GradingLimits} scheme
 * @returns {Summary}
 */
function summary(id, fromM, toM, graded, mine, scheme) {
  const greatest = (/** @type {'recorded_low' | 'recorded_high' | 'low' | 'high'} */ name) => {
    const numbers = mine.map((k) => greatestOf(graded[k], name)).filter((n) => n !== null);
    return numbers.length ? Math.max(...numbers) : null;
  };
  let [least, most, settled] = [0, 0, true];
  for (const k of mine) {
    const [low, high] = lengthNumber(graded[k]);
    least += low;
    most += high ?? 0;
    settled = settled && high !== null;
  }
  const [low, high] = [greatest('recorded_low'), greatest('recorded_high')];
  return {
    id,
    from_counter_m: fromM,
    to_counter_m: toM,
    graded: mine,
    immediate: mine.filter((k) => graded[k].immediate.length > 0),
    goals: /** @type {Summary['goals']} */ (
      Object.fromEntries(GOALS.map((goal) => [goal, goalOf(goal, graded, mine)]))
    ),
    number_low: low,
    number_high: high,
    bound_low: greatest('low'),
    bound_high: greatest('high'),
    class_low: classOfNumber(low, scheme),
    class_high: classOfNumber(high, scheme),
    length_number_low: least,
    length_number_high: settled ? most : null
  };
}

/**
 * The worst class; its cause is what may be worst, the surest first.
 * @param {Goal} goal
 * @param {Graded[]} graded
 * @param {number[]} mine
 * @returns {GoalClass}
 */
function goalOf(goal, graded, mine) {
  let [low, high, bestHigh, bestLow] = [0, 0, 0, 0];
  /** @type {number | null} */
  let cause = null;
  for (const k of mine) {
    const one = graded[k].classes[goal];
    if (one === null) continue;
    low = Math.max(low, one.low);
    high = Math.max(high, one.high);
    if (one.high > bestHigh || (one.high === bestHigh && one.low > bestLow))
      [bestHigh, bestLow, cause] = [one.high, one.low, k];
  }
  return { low, high, cause };
}

/**
 * @param {Graded} one
 * @param {'recorded_low' | 'recorded_high' | 'low' | 'high'} name
 * @returns {number | null}
 */
function greatestOf(one, name) {
  const numbers = Object.values(one.numbers)
    .filter((n) => n !== null)
    .map((n) => n[name]);
  return numbers.length ? Math.max(...numbers) : null;
}

/** @param {Graded} one @returns {[number, number | null]} */
function lengthNumber(one) {
  const [low, high] = [greatestOf(one, 'recorded_low'), greatestOf(one, 'recorded_high')];
  if (low === null || high === null) return [0, 0];
  if (one.length_m === null) return [0, null];
  return [low * one.length_m, high * one.length_m];
}
