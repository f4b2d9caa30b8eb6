/**
 * What the camera could see along a run: clearly, in part, or not at all, and why. Twin of
 * webapp/survey/coding/visibility.py.
 */

import { erasedSpans, hiddenSpan, hiddenSpans, looksAtWall } from './hidden_spans.js';

/** @typedef {import('./continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../../records/tables.js').VisibilityTable} VisibilityTable */
/** @typedef {import('./hidden_spans.js').Sight} Sight */
/** @typedef {import('./hidden_spans.js').SightKnown} SightKnown */
/** @typedef {import('./hidden_spans.js').Span} Span */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/**
 * @typedef {{run: RunFields, stretches: StretchRecord[], observations: ObservationRecord[], items:
 *   ContinuousItem[], end_counter_m: number | null, scale: number, erased?: StretchRecord[]}} SightFacts
 * @typedef {{sight: Sight, from_counter_m: number, to_counter_m: number, length_m: number, record_ids:
 *   string[], depth_pct: number | null, hour_from: number | null, hour_to: number | null, known:
 *   SightKnown}} VisiblePart
 * @typedef {{looked: boolean, from_counter_m: number, to_counter_m: number | null, clear_m: number | null,
 *   part_m: number | null, hidden_m: number | null, total_m: number | null, parts: VisiblePart[]}} Visibility
 */

/**
 * @typedef {{from_counter_m?: number | null, to_counter_m?: number | null}} Extent   of a whole run: neither
 */

const MIN_M = 1e-6; // two places nearer than this are one

/** @param {SightFacts} facts @param {VisibilityTable} table @returns {Visibility} */
export function visibility(facts, table) {
  const { run, stretches, observations, items, end_counter_m: endCounterM, scale, erased = [] } = facts;
  const startM = run.counter_zero_m || 0;
  const looked = observations.some((one) => looksAtWall(one, table));
  /** @type {Visibility} */
  const found = {
    looked,
    from_counter_m: startM,
    to_counter_m: endCounterM,
    clear_m: null,
    part_m: null,
    hidden_m: null,
    total_m: null,
    parts: []
  };
  if (endCounterM === null || endCounterM <= startM) return found;
  const ordered = observations
    .filter((one) => (one.fields.counter_m ?? null) !== null)
    .sort((a, b) => /** @type {number} */ (a.fields.counter_m) - /** @type {number} */ (b.fields.counter_m));
  const spans = hiddenSpans(ordered, items, startM, endCounterM, table);
  spans.push(...erasedSpans(erased, ordered, startM, endCounterM, table));
  const leastM = run.least_end_counter_m ?? null;
  if (leastM !== null && leastM < endCounterM)
    spans.push(hiddenSpan('hidden', Math.max(leastM, startM), endCounterM, '', 'assumed', null));
  const parts = partsOf(spans, roundLengths(stretches, endCounterM), startM, endCounterM, scale);
  /** @type {Object<string, number>} */
  const sums = { clear: 0, part: 0, hidden: 0 };
  for (const part of parts) sums[part.sight] += part.length_m;
  return {
    ...found,
    clear_m: sums.clear,
    part_m: sums.part,
    hidden_m: sums.hidden,
    total_m: (endCounterM - startM) * scale,
    parts
  };
}

/**
 * @param {Visibility} account
 * @param {number | null} fromM
 * @param {number | null} toM
 * @param {number} scale
 * @returns {number | null}
 */
export function unseenM(account, fromM, toM, scale) {
  const start = fromM === null ? account.from_counter_m : fromM;
  const end = toM === null ? account.to_counter_m : toM;
  if (end === null || account.to_counter_m === null) return null;
  if (!account.looked) return Math.max(0, end - start) * scale;
  let total = toM === null ? 0 : Math.max(0, end - Math.max(start, account.to_counter_m));
  for (const part of account.parts) {
    if (part.sight === 'hidden')
      total += Math.max(0, Math.min(end, part.to_counter_m) - Math.max(start, part.from_counter_m));
  }
  return total * scale;
}

/**
 * @template {{run: Extent, stretches: Extent[]}} T
 * @param {T} grading
 * @param {Visibility} account
 * @param {number} scale
 * @returns {T}
 */
export function withUnseen(grading, account, scale) {
  const withExtent = (/** @type {Extent} */ one) => {
    const start = one.from_counter_m ?? account.from_counter_m;
    const end = one.to_counter_m ?? account.to_counter_m;
    return {
      ...one,
      unseen_m: unseenM(account, start, end, scale),
      extent_m: end === null ? null : Math.max(0, end - start) * scale
    };
  };
  return { ...grading, run: withExtent(grading.run), stretches: grading.stretches.map(withExtent) };
}

/** @param {StretchRecord[]} stretches @param {number} endM @returns {Array<[number, number]>} */
function roundLengths(stretches, endM) {
  return stretches
    .filter(
      (one) =>
        one.fields.shape === 'circular' &&
        (one.fields.from_counter_m ?? null) !== null &&
        one.conflicts?.shape === undefined
    )
    .map(({ fields }) => [/** @type {number} */ (fields.from_counter_m), fields.to_counter_m ?? endM]);
}

/**
 * @param {Span[]} spans
 * @param {Array<[number, number]>} rounds
 * @param {number} startM
 * @param {number} endM
 * @param {number} scale
 * @returns {VisiblePart[]}
 */
function partsOf(spans, rounds, startM, endM, scale) {
  const marks = [startM, endM];
  const inside = (/** @type {number} */ place) => place > startM && place < endM;
  for (const one of spans) marks.push(...[one.from_m, one.to_m].filter(inside));
  if (spans.length) marks.push(...rounds.flat().filter(inside));
  const places = [...new Set(marks)].sort((a, b) => a - b);
  const waiting = [...spans].sort((a, b) => a.from_m - b.from_m);
  let next = 0;
  /** @type {Span[]} */
  let active = [];
  /** @type {Omit<VisiblePart, 'length_m'>[]} */
  const parts = [];
  for (let k = 0; k + 1 < places.length; k += 1) {
    const [fromM, toM] = [places[k], places[k + 1]];
    if (toM - fromM <= MIN_M) continue;
    const middle = (fromM + toM) / 2;
    for (; next < waiting.length && waiting[next].from_m <= middle; next += 1) active.push(waiting[next]);
    active = active.filter((one) => one.to_m >= middle);
    const part = partOf(
      active,
      rounds.some(([a, b]) => a <= middle && middle <= b),
      fromM,
      toM
    );
    const last = parts[parts.length - 1];
    if (last && alike(last, part)) last.to_counter_m = toM;
    else parts.push(part);
  }
  return parts.map((part) => ({ ...part, length_m: (part.to_counter_m - part.from_counter_m) * scale }));
}

/** @param {Omit<VisiblePart, 'length_m'>} a @param {Omit<VisiblePart, 'length_m'>} b */
function alike(a, b) {
  return (
    a.sight === b.sight &&
    a.depth_pct === b.depth_pct &&
    a.known === b.known &&
    a.hour_from === b.hour_from &&
    a.record_ids.length === b.record_ids.length &&
    a.record_ids.every((id, k) => id === b.record_ids[k])
  );
}

/**
 * @param {Span[]} spans
 * @param {boolean} isRound
 * @param {number} fromM
 * @param {number} toM
 * @returns {Omit<VisiblePart, 'length_m'>}
 */
function partOf(spans, isRound, fromM, toM) {
  const hidden = spans.filter((one) => one.sight === 'hidden');
  const telling = hidden.length ? hidden : spans;
  const depths = telling.map((one) => one.depth_pct).filter((depth) => depth !== null);
  const depth = depths.length ? Math.max(...depths) : null;
  /** @type {[number | null, number | null]} */
  let hours = [null, null];
  if (hidden.length === 0 && isRound && depth !== null) {
    const half = (6 * Math.acos(Math.max(-1, Math.min(1, 1 - (2 * depth) / 100)))) / Math.PI;
    hours = [6 - half, 6 + half];
  }
  return {
    sight: hidden.length ? 'hidden' : spans.length ? 'part' : 'clear',
    from_counter_m: fromM,
    to_counter_m: toM,
    record_ids: telling.map((one) => one.record_id).filter((id) => id !== ''),
    depth_pct: depth,
    hour_from: hours[0],
    hour_to: hours[1],
    known: telling.some((one) => one.known === 'assumed') ? 'assumed' : 'measured'
  };
}
