/**
 * One length of pipe surveyed in pieces: which runs belong together, and how they join. Twin of
 * webapp/survey/lengths/pipe_length.py.
 */

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').RunRecord} RunRecord */
/** @typedef {[number, number]} Span */
/**
 * @typedef {{turned: boolean, from_m: number, to_m: number | null, reached: boolean, expected_m: number |
 *   null}} LengthPiece
 */
/**
 * @typedef {{piece: number, other: number, at_m: number, other_at_m: number, blocks: boolean}} SharedObject
 */
/**
 * @typedef {{how: string, length_m: number | null, expected_m: number | null, closing_m: number | null,
 *   off_m: number | null, apart_m: number, spans: Span[], between: Span[], between_m: number | null,
 *   surveyed_m: number | null, twice_m: number}} LengthJoin
 */

const SAME_M = 1e-6; // two places nearer than this are one

/** @param {RunRecord[]} runs @returns {string[][]} */
export function lengthGroups(runs) {
  /** @type {Map<string, string | null>} */
  const named = new Map(runs.map((one) => [one.id, one.fields.continues_run_id ?? null]));
  /** @type {Map<string, string[]>} */
  const groups = new Map();
  for (const one of runs) {
    const first = firstOf(one.id, named);
    groups.set(first, [...(groups.get(first) ?? []), one.id]);
  }
  return [...groups]
    .filter(([, mine]) => mine.length > 1)
    .map(([first, mine]) => [first, ...mine.filter((one) => one !== first)]);
}

/**
 * The run that the names lead to; of a circle, the run itself.
 * @param {string} runId
 * @param {Map<string, string | null>} named
 * @returns {string}
 */
function firstOf(runId, named) {
  const seen = [runId];
  let at = runId;
  for (
    let before = named.get(at);
    before !== null && before !== undefined && named.has(before);
    before = named.get(at)
  ) {
    if (seen.includes(before)) return runId;
    seen.push(before);
    at = before;
  }
  return at;
}

/**
 * @param {import('../../records/types.js').RunFields} first
 * @param {import('../../records/types.js').RunFields} fields
 * @returns {boolean} */
export function fromOtherEnd(first, fields) {
  const start = fields.start_node_id;
  return !start || start !== first.start_node_id;
}

/** @param {LengthPiece[]} pieces @param {SharedObject[]} shared @returns {LengthJoin} */
export function lengthJoin(pieces, shared) {
  const expectedM = pieces.find((one) => one.expected_m !== null)?.expected_m ?? null;
  const here = greatest(pieces.filter((one) => !one.turned));
  const there = greatest(pieces.filter((one) => one.turned));
  const [how, lengthM, apartM] = restsOn(pieces, shared, expectedM, here);
  const closingM = zeroed(
    expectedM !== null && here !== null && there !== null ? expectedM - here - there : null
  );
  const offM =
    expectedM !== null && lengthM !== null && ['seen_from_both', 'counter'].includes(how)
      ? zeroed(expectedM - lengthM)
      : null;
  if (lengthM === null || lengthM <= SAME_M) {
    return {
      how: 'unknown',
      length_m: null,
      expected_m: expectedM,
      closing_m: closingM,
      off_m: null,
      apart_m: 0,
      spans: [],
      between: [],
      between_m: null,
      surveyed_m: null,
      twice_m: 0
    };
  }
  const lengths = pieces.filter((one) => one.to_m !== null).map((one) => spanOf(one, lengthM));
  const spans = union(lengths);
  const between = betweenOf(spans, lengthM);
  const surveyedM = sum(spans);
  const twiceM = sum(lengths) - surveyedM;
  return {
    how,
    length_m: lengthM,
    expected_m: expectedM,
    closing_m: closingM,
    off_m: offM,
    apart_m: apartM,
    spans,
    between,
    between_m: sum(between),
    surveyed_m: surveyedM,
    twice_m: twiceM > SAME_M ? twiceM : 0
  };
}

/** @param {LengthPiece[]} pieces @returns {number | null} */
function greatest(pieces) {
  const ends = pieces.flatMap((one) => (one.to_m === null ? [] : [one.to_m]));
  return ends.length ? Math.max(...ends) : null;
}

/** @param {Span[]} spans */
function sum(spans) {
  return spans.reduce((total, [from, to]) => total + (to - from), 0);
}

/**
 * What the join rests on, the length from end to end, how far the sums of several objects differ.
 * @param {LengthPiece[]} pieces
 * @param {SharedObject[]} shared
 * @param {number | null} expectedM
 * @param {number | null} here
 * @returns {[string, number | null, number]}
 */
function restsOn(pieces, shared, expectedM, here) {
  if (!pieces.some((one) => one.turned)) return ['same_start', here, 0];
  const facing = shared.filter((one) => pieces[one.piece].turned !== pieces[one.other].turned);
  const sums = facing.filter((one) => !one.blocks).map((one) => one.at_m + one.other_at_m);
  if (sums.length)
    return [
      'seen_from_both',
      sums.reduce((a, b) => a + b, 0) / sums.length,
      Math.max(...sums) - Math.min(...sums)
    ];
  const crossed = pieces.flatMap((one) => (one.reached && one.to_m !== null ? [one.to_m] : []));
  if (crossed.length) return ['counter', Math.max(...crossed), Math.max(...crossed) - Math.min(...crossed)];
  if (expectedM !== null) return ['expected', expectedM, 0];
  const faces = facing.map((one) => one.at_m + one.other_at_m);
  if (faces.length) return ['obstruction', Math.max(...faces), Math.max(...faces) - Math.min(...faces)];
  return ['unknown', null, 0];
}

/**
 * Nothing where only the arithmetic leaves something.
 * @param {number | null} value
 * @returns {number | null}
 */
function zeroed(value) {
  return value !== null && Math.abs(value) < SAME_M ? 0 : value;
}

/**
 * Where a piece lies in the length, cut at its ends.
 * @param {LengthPiece} piece
 * @param {number} lengthM
 * @returns {Span}
 */
function spanOf(piece, lengthM) {
  const to = piece.to_m ?? piece.from_m;
  const [from, end] = piece.turned ? [lengthM - to, lengthM - piece.from_m] : [piece.from_m, to];
  const start = Math.min(Math.max(from, 0), lengthM);
  return [start < SAME_M ? 0 : start, Math.min(Math.max(end, 0), lengthM)];
}

/** @param {Span[]} lengths @returns {Span[]} */
function union(lengths) {
  /** @type {Span[]} */
  const found = [];
  for (const [start, end] of [...lengths].sort((a, b) => a[0] - b[0] || a[1] - b[1])) {
    if (end - start <= SAME_M) continue;
    const last = found.at(-1);
    if (last && start <= last[1] + SAME_M) last[1] = Math.max(last[1], end);
    else found.push([start, end]);
  }
  return found;
}

/** @param {Span[]} spans @param {number} lengthM @returns {Span[]} */
function betweenOf(spans, lengthM) {
  /** @type {Span[]} */
  const found = [];
  let at = 0;
  for (const [start, end] of [...spans, [lengthM, lengthM]]) {
    if (start - at > SAME_M) found.push([at, start]);
    at = Math.max(at, end);
  }
  return found;
}
