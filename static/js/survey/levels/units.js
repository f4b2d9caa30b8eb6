/** A run cut into pipes, cells, lengths not read and unknown rises. Twin of webapp/survey/levels/units.py. */
import { NOT_READ, SAME_PLACE_M } from './input.js';

/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/**
 * @typedef {{from_m: number, to_m: number, kind: number, first: number, last: number, pipes_m2: number,
 *   doubt_m2: number | null, own_m: number}} Unit
 */
/** @typedef {{from_m: number, to_m: number, unit_m: number | null}} Span */

export const TRACK_M = 0.5; // a crawler stands on as much; assumed where its kit does not say
const PIPES_M = [0.5, 2.5]; // single pipes of unknown length are as long as readings are apart, within this
export const GAP = 0;
export const UNREAD = 1;
export const READ = 2;

/** @param {LevelReading[]} chosen @param {LevelTie[]} ties @param {LevelSetup} setup @returns {Unit[]} */
export function cutRun(chosen, ties, setup) {
  const spans = spansOf(setup);
  const end = endOf(chosen, ties, setup, spans);
  const edges = [setup.start_chainage_m];
  for (let i = 1; i < chosen.length; i += 1) {
    const edge = edgeOf(chosen[i - 1], chosen[i], spans);
    edges.push(Math.max(edges[i - 1], edge < end ? edge : end));
  }
  edges.push(Math.max(end, edges[edges.length - 1]));
  /** @type {number[]} */
  const tied = [];
  for (const place of ties.map((tie) => tie.chainage_m).sort((a, b) => a - b))
    if (tied.length === 0 || place - tied[tied.length - 1] > SAME_PLACE_M) tied.push(place);
  /** @type {Unit[]} */
  const units = [];
  /** @type {[Span[], number]} */
  const known = [spans, usualPipeM(chosen)];
  let [at, i] = [setup.start_chainage_m, 0];
  while (i < chosen.length) {
    if (chosen[i].deg === null) {
      let [from, to] = [edges[i], edges[i + 1]];
      if (chosen[i].over === NOT_READ)
        [from, to] = [Math.max(at, chosen[i].chainage_m), Math.max(at, Math.min(chosen[i].to_m || at, end))];
      land(units, chosen, [i, i], [at, from], known, tied);
      gap(units, chosen, i, [Math.max(at, from), to], tied);
      at = Math.max(at, to);
      i += 1;
      continue;
    }
    const first = i;
    while (i < chosen.length && chosen[i].deg !== null) i += 1;
    let to = end;
    if (i < chosen.length) to = chosen[i].over === NOT_READ ? chosen[i].chainage_m : edges[i];
    to = Math.max(at, Math.min(to, end));
    land(units, chosen, [first, i], [at, to], known, tied);
    at = to;
  }
  land(units, chosen, [i, i], [at, end], known, tied);
  return units;
}

/** @param {Span[]} spans @param {number} place @returns {Span | null} */
export function spanAt(spans, place) {
  for (const span of spans) if (span.from_m <= place && place < span.to_m) return span;
  return null;
}

/** @param {Span} span @param {number} place @returns {[number, number]} */
export function pipeAt(span, place) {
  if (span.unit_m === null) return [span.from_m, span.to_m];
  const k = Math.floor((place - span.from_m) / span.unit_m);
  return [span.from_m + k * span.unit_m, Math.min(span.from_m + (k + 1) * span.unit_m, span.to_m)];
}

/** @param {LevelReading[]} chosen @returns {number} */
export function usualPipeM(chosen) {
  /** @type {number[]} */
  const apart = [];
  for (let i = 1; i < chosen.length; i += 1) apart.push(chosen[i].chainage_m - chosen[i - 1].chainage_m);
  apart.sort((a, b) => a - b);
  const usual = apart.length ? apart[Math.floor((apart.length - 1) / 2)] : PIPES_M[1];
  return Math.max(PIPES_M[0], Math.min(usual, PIPES_M[1]));
}

/**
 * Lengths of single pipes of a known length; where two lie over each other, the first.
 * @param {LevelSetup} setup @returns {Span[]}
 */
function spansOf(setup) {
  /** @type {Span[]} */
  const found = [];
  for (const { from_m: begin, to_m: to, unit_m: unit } of setup.pipes ?? []) {
    const from = Math.max(begin, setup.start_chainage_m);
    const free = !found.some((one) => one.from_m < to && from < one.to_m);
    if (unit !== null && to > from && free) found.push({ from_m: from, to_m: to, unit_m: unit });
  }
  return found.sort((a, b) => a.from_m - b.from_m);
}

/**
 * @param {LevelReading[]} chosen @param {LevelTie[]} ties @param {LevelSetup} setup @param {Span[]} spans
 * @returns {number}
 */
function endOf(chosen, ties, setup, spans) {
  let far = setup.start_chainage_m;
  for (const tie of ties) far = Math.max(far, tie.chainage_m);
  const end = setup.end_chainage_m ?? null;
  if (end !== null) return far > end + SAME_PLACE_M ? far : end;
  const last = chosen[chosen.length - 1];
  const span = spanAt(spans, last.chainage_m);
  if (span !== null && last.deg !== null) return Math.max(far, pipeAt(span, last.chainage_m)[1]);
  const to = last.to_m ?? null;
  return Math.max(far, last.deg === null && to !== null ? to : last.chainage_m);
}

/**
 * Where an unknown rise gives way to its neighbour; the middle of two that are alike.
 * @param {LevelReading} before @param {LevelReading} behind @param {Span[]} spans @returns {number}
 */
function edgeOf(before, behind, spans) {
  const [left, right] = [before.chainage_m, behind.chainage_m];
  const to = before.to_m ?? null;
  if (before.deg === null && before.over === NOT_READ && to !== null) return to;
  if (behind.deg === null && behind.over === NOT_READ) return right;
  const middle = (left + right) / 2;
  if (before.deg !== null && behind.deg === null)
    return Math.min(reach(spans, left, 1), Math.max(middle, right - TRACK_M / 2));
  if (before.deg === null && behind.deg !== null)
    return Math.max(reach(spans, right, -1), Math.min(middle, left + TRACK_M / 2));
  return middle;
}

/**
 * How far a reading within the range says that the pipe is within the range.
 * @param {Span[]} spans @param {number} place @param {number} way @returns {number}
 */
function reach(spans, place, way) {
  const span = spanAt(spans, place);
  if (span === null) return place + (way * TRACK_M) / 2;
  return pipeAt(span, place)[way > 0 ? 1 : 0];
}

/**
 * A length cut where levels were taken within it.
 * @param {number} from @param {number} to @param {number[]} tied @returns {number[]}
 */
function cutsOf(from, to, tied) {
  const cuts = [from];
  for (const t of tied) if (from + SAME_PLACE_M < t && t < to - SAME_PLACE_M) cuts.push(t);
  cuts.push(to);
  return cuts;
}

/**
 * An unknown rise, cut where a level was taken within it.
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {number} i @param {[number, number]} place
 * @param {number[]} tied
 */
function gap(units, chosen, i, place, tied) {
  const at = chosen[i].chainage_m;
  const cuts = cutsOf(place[0], place[1], tied);
  for (let n = 1; n < cuts.length; n += 1) {
    const [from, to] = [cuts[n - 1], cuts[n]];
    if (!(to - from > SAME_PLACE_M)) continue;
    let own = Math.max(0, Math.min(to, at + TRACK_M / 2) - Math.max(from, at - TRACK_M / 2));
    if (chosen[i].over === NOT_READ) own = 0;
    units.push({
      from_m: from,
      to_m: to,
      kind: GAP,
      first: i,
      last: i,
      pipes_m2: 0,
      doubt_m2: null,
      own_m: own
    });
  }
}

/**
 * A length without unknown rises: span by span, pipe by pipe or cell by cell.
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {[number, number]} these
 * @param {[number, number]} place @param {[Span[], number]} known @param {number[]} tied
 */
function land(units, chosen, these, place, known, tied) {
  let [at, end] = place;
  const [spans, pipeM] = known;
  let [i, last] = these;
  /** @type {Span[]} */
  const pieces = [];
  for (const span of spans) {
    const [from, to] = [Math.max(span.from_m, at), Math.min(span.to_m, end)];
    if (!(to - from > SAME_PLACE_M)) continue;
    if (from - at > SAME_PLACE_M) pieces.push({ from_m: at, to_m: from, unit_m: null });
    pieces.push({ from_m: span.from_m, to_m: to, unit_m: span.unit_m });
    at = to;
  }
  if (end - at > SAME_PLACE_M) pieces.push({ from_m: at, to_m: end, unit_m: null });
  [at] = place;
  pieces.forEach((piece, n) => {
    const first = i;
    while (i < last && (chosen[i].chainage_m < piece.to_m || n === pieces.length - 1)) i += 1;
    if (piece.unit_m === null)
      cells(units, chosen, [first, i], { from_m: at, to_m: piece.to_m, unit_m: null }, pipeM, tied);
    else pipes(units, chosen, [first, i], at, piece, tied);
    at = piece.to_m;
  });
}

/**
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {[number, number]} these @param {number} begin
 * @param {Span} span @param {number[]} tied
 */
function pipes(units, chosen, these, begin, span, tied) {
  let at = begin;
  let [i, last] = these;
  while (i < last) {
    let [left, right] = pipeAt(span, Math.min(Math.max(chosen[i].chainage_m, at), span.to_m - SAME_PLACE_M));
    left = Math.max(left, at);
    const first = i;
    while (i < last && chosen[i].chainage_m < right) i += 1;
    i = Math.max(i, first + 1);
    unread(units, at, left, span, 0, tied);
    units.push(readUnit(left, right, first, i, null));
    at = right;
  }
  unread(units, at, span.to_m, span, 0, tied);
}

/**
 * @param {number} from @param {number} to @param {number} first @param {number} last
 * @param {number | null} doubt @returns {Unit}
 */
function readUnit(from, to, first, last, doubt) {
  const square = (to - from) * (to - from);
  return { from_m: from, to_m: to, kind: READ, first, last, pipes_m2: square, doubt_m2: doubt, own_m: 0 };
}

/**
 * Cells of readings between joints at unknown places; readings at one place share one.
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {[number, number]} these @param {Span} whole
 * @param {number} pipeM @param {number[]} tied
 */
function cells(units, chosen, these, whole, pipeM, tied) {
  let at = whole.from_m;
  const end = whole.to_m;
  let [i, last] = these;
  while (i < last) {
    const first = i;
    while (i < last && chosen[i].chainage_m - chosen[first].chainage_m < TRACK_M) i += 1;
    const here = (chosen[first].chainage_m + chosen[i - 1].chainage_m) / 2;
    const left = Math.max(at, here - pipeM / 2);
    let right = Math.min(end, here + pipeM / 2);
    if (i < last) right = Math.min(right, (chosen[i - 1].chainage_m + chosen[i].chainage_m) / 2);
    unread(units, at, left, whole, pipeM, tied);
    if (right - left > SAME_PLACE_M) {
      const [before, behind] = [Math.max(here - left, 0), Math.max(right - here, 0)];
      units.push(readUnit(left, right, first, i, (1 / (3 * pipeM)) * (before ** 3 + behind ** 3)));
    }
    at = Math.max(right, left);
  }
  unread(units, at, end, whole, pipeM, tied);
}

/**
 * A length without readings as one unit, cut where a level was taken within it.
 * @param {Unit[]} units @param {number} from @param {number} to @param {Span} span @param {number} pipeM
 * @param {number[]} tied
 */
function unread(units, from, to, span, pipeM, tied) {
  if (to - from <= SAME_PLACE_M) return;
  const cuts = cutsOf(from, to, tied);
  for (let n = 1; n < cuts.length; n += 1) {
    const [a, b] = [cuts[n - 1], cuts[n]];
    const square = squares(a, b, span, pipeM);
    units.push({
      from_m: a,
      to_m: b,
      kind: UNREAD,
      first: 0,
      last: 0,
      pipes_m2: square,
      doubt_m2: null,
      own_m: 0
    });
  }
}

/**
 * Squares of the lengths of the single pipes between two places, added up [m2].
 * @param {number} from @param {number} to @param {Span} span @param {number} pipeM @returns {number}
 */
function squares(from, to, span, pipeM) {
  if (span.unit_m === null) return (to - from) * Math.min(pipeM, to - from);
  const [first, last] = [pipeAt(span, from + SAME_PLACE_M), pipeAt(span, to - SAME_PLACE_M)];
  if (last[0] <= first[0]) return (to - from) * (to - from);
  const ends = (first[1] - from) * (first[1] - from) + (to - last[0]) * (to - last[0]);
  return ends + Math.max(last[0] - first[1], 0) * span.unit_m;
}
