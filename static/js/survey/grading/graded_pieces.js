/**
 * What of a run is graded: points, and lengths of what is continuous. Twin of
 * webapp/survey/grading/graded_pieces.py.
 */

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../flow/run_capacity.js').CapacityRow} CapacityRow */

/** @typedef {CapacityRow & Partial<import('../flow/capacity_limits.js').LimitedRow>} CarriedRow */
/**
 * What is known of a run that is graded. `capacityRows`: of `runCapacity` or `limitedCapacity`, may be empty.
 * @typedef {{run: RunFields, stretches: StretchRecord[], observations: ObservationRecord[], items:
 *   ContinuousItem[], capacityRows: CarriedRow[], endCounterM: number | null, scale: number}} GradingFacts
 */
/**
 * @typedef {{record_id: string, fields: Fields, number: number | null, stretch_id: string | null,
 *   from_counter_m: number | null, to_counter_m: number | null}} Piece
 */

/**
 * Points, and lengths of what is continuous cut at the ends of the stretches, in order of place.
 * @param {GradingFacts} facts
 * @returns {Piece[]}
 */
export function pieces({ observations, items, stretches, endCounterM }) {
  /** @type {Set<string>} */
  const paired = new Set();
  /** @type {Piece[]} */
  const found = [];
  for (const item of items) {
    for (const id of [item.start_id, ...item.change_ids]) paired.add(id);
    if (item.finish_id !== null) paired.add(item.finish_id);
    for (const part of item.parts) {
      const toM = part.to_counter_m === null && item.open ? endCounterM : part.to_counter_m;
      found.push(...cut(part, part.from_counter_m, toM, item.number, stretches));
    }
  }
  for (const one of observations) {
    const atM = one.fields.counter_m ?? null;
    if (paired.has(one.id)) continue;
    const part = { record_id: one.id, fields: one.fields };
    if (atM !== null) found.push(...cut(part, atM, atM, null, stretches));
    // somewhere in the run
    else found.push({ ...part, number: null, stretch_id: null, from_counter_m: null, to_counter_m: null });
  }
  return found.sort(
    (a, b) =>
      Number(a.from_counter_m === null) - Number(b.from_counter_m === null) ||
      (a.from_counter_m ?? 0) - (b.from_counter_m ?? 0) ||
      (a.record_id < b.record_id ? -1 : a.record_id > b.record_id ? 1 : 0)
  );
}

/**
 * @param {{record_id: string, fields: Fields}} part
 * @param {number} fromM
 * @param {number | null} toM
 * @param {number | null} number
 * @param {StretchRecord[]} stretches
 * @returns {Piece[]}
 */
function cut(part, fromM, toM, number, stretches) {
  const endM = toM !== null && toM < fromM ? null : toM;
  /** @type {Piece} */
  const piece = {
    record_id: part.record_id,
    fields: part.fields,
    number,
    stretch_id: null,
    from_counter_m: fromM,
    to_counter_m: endM
  };
  if (endM === null || endM === fromM) return [{ ...piece, stretch_id: stretchAt(fromM, stretches) }];
  const ends = new Set([fromM, endM]);
  for (const one of stretches) {
    for (const place of [one.fields.from_counter_m ?? null, one.fields.to_counter_m ?? null]) {
      if (place !== null && fromM < place && place < endM) ends.add(place);
    }
  }
  const places = [...ends].sort((a, b) => a - b);
  return places.slice(1).map((b, k) => ({
    ...piece,
    from_counter_m: places[k],
    to_counter_m: b,
    stretch_id: stretchAt((places[k] + b) / 2, stretches)
  }));
}

/** The stretch that holds a place; where one ends and the next begins, the one that begins.
 * @param {number} counterM @param {StretchRecord[]} stretches @returns {string | null} */
function stretchAt(counterM, stretches) {
  /** @type {string | null} */
  let found = null;
  let begins = 0;
  for (const one of stretches) {
    const [start, end] = [one.fields.from_counter_m ?? null, one.fields.to_counter_m ?? null];
    if (start === null || counterM < start || (end !== null && counterM > end)) continue;
    if (found === null || start > begins) [found, begins] = [one.id, start];
  }
  return found;
}
