/**
 * One account of what was seen along a length that was surveyed in pieces. Twin of
 * webapp/survey/lengths/sight.py.
 */
import { lengthCounter } from './records.js';

/** @typedef {import('../coding/visibility.js').Visibility} Visibility */
/** @typedef {import('../coding/visibility.js').VisiblePart} VisiblePart */
/** @typedef {import('./records.js').LengthFrame} LengthFrame */
/** @typedef {Omit<VisiblePart, 'length_m'>} PlacedPart */

/** @type {Object<string, number>} */
const RANK = { clear: 0, part: 1, hidden: 2 };
const MIN_M = 1e-6; // two places nearer than this are one

/**
 * @param {Visibility[]} accounts
 * @param {LengthFrame[]} frames
 * @param {Array<[number, number]>} spans by each piece's own counter
 * @returns {Visibility}
 */
export function lengthSight(accounts, frames, spans) {
  const [onto] = frames;
  const start = onto.onto_zero_m;
  const end = onto.onto_zero_m + onto.length_m / onto.onto_scale;
  const placed = accounts.flatMap((account, k) => placedParts(account, frames[k], spans[k]));
  const marks = new Set([start, end]);
  for (const one of placed)
    for (const m of [one.from_counter_m, one.to_counter_m]) if (m > start && m < end) marks.add(m);
  const places = apart([...marks].sort((a, b) => a - b));
  /** @type {VisiblePart[]} */
  const parts = [];
  for (let k = 0; k + 1 < places.length; k += 1) {
    const [from, to] = [places[k], places[k + 1]];
    const part = { ...best(placed, (from + to) / 2), from_counter_m: from, to_counter_m: to, length_m: 0 };
    const last = parts.at(-1);
    if (last && alike(last, part)) last.to_counter_m = to;
    else parts.push(part);
  }
  /** @type {Object<string, number>} */
  const sums = { clear: 0, part: 0, hidden: 0 };
  for (const part of parts) {
    part.length_m = (part.to_counter_m - part.from_counter_m) * onto.onto_scale;
    sums[part.sight] += part.length_m;
  }
  return {
    looked: accounts.some((one) => one.looked),
    from_counter_m: start,
    to_counter_m: end,
    clear_m: sums.clear,
    part_m: sums.part,
    hidden_m: sums.hidden,
    total_m: onto.length_m,
    parts
  };
}

/** @param {VisiblePart} one @param {VisiblePart} other */
function alike(one, other) {
  const same = (/** @type {keyof VisiblePart} */ name) => one[name] === other[name];
  return (
    /** @type {const} */ (['sight', 'depth_pct', 'hour_from', 'hour_to', 'known']).every(same) &&
    one.record_ids.join() === other.record_ids.join()
  );
}

/** The marks that are not the same place as the one before; the last always. @param {number[]} marks */
function apart(marks) {
  if (marks.length < 2) return marks;
  const last = marks[marks.length - 1];
  const found = [marks[0]];
  for (const mark of marks.slice(1, -1))
    if (mark - found[found.length - 1] > MIN_M && last - mark > MIN_M) found.push(mark);
  return [...found, last];
}

/** The parts of a piece within what it looked at; hours below water are the same from either end.
 * @param {Visibility} account @param {LengthFrame} frame @param {[number, number]} span
 * @returns {PlacedPart[]} */
function placedParts(account, frame, span) {
  if (!account.looked) return [];
  return account.parts.flatMap((part) => {
    const from = Math.max(part.from_counter_m, span[0]);
    const to = Math.min(part.to_counter_m, span[1]);
    if (to - from <= MIN_M) return [];
    const ends = [lengthCounter(from, frame), lengthCounter(to, frame)].sort((a, b) => a - b);
    return [
      {
        sight: part.sight,
        from_counter_m: ends[0],
        to_counter_m: ends[1],
        record_ids: [...part.record_ids],
        depth_pct: part.depth_pct,
        hour_from: part.hour_from,
        hour_to: part.hour_to,
        known: part.known
      }
    ];
  });
}

/**
 * What the run saw there that saw it best; of equals the first.
 * @param {PlacedPart[]} placed @param {number} at @returns {Omit<PlacedPart, 'from_counter_m' |
 *   'to_counter_m'>}
 */
function best(placed, at) {
  /** @type {PlacedPart | null} */
  let found = null;
  for (const one of placed) {
    if (
      one.from_counter_m <= at &&
      at <= one.to_counter_m &&
      (found === null || RANK[one.sight] < RANK[found.sight])
    )
      found = one;
  }
  if (found === null)
    return {
      sight: 'hidden',
      record_ids: [],
      depth_pct: null,
      hour_from: null,
      hour_to: null,
      known: 'measured'
    };
  return { ...found };
}
