/**
 * What the camera could see along a run: clearly, in part, or not at all, and why. Twin of
 * webapp/survey/coding/visibility.py.
 */

/** @typedef {import('./continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../../records/tables.js').VisibilityTable} VisibilityTable */
/** @typedef {'clear' | 'part' | 'hidden'} Sight */
/** @typedef {'measured' | 'assumed'} SightKnown */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/**
 * @typedef {{sight: Sight, from_counter_m: number, to_counter_m: number, length_m: number, record_ids:
 *   string[], depth_pct: number | null, hour_from: number | null, hour_to: number | null, known:
 *   SightKnown}} VisiblePart
 * @typedef {{looked: boolean, from_counter_m: number, to_counter_m: number | null, clear_m: number | null,
 *   part_m: number | null, hidden_m: number | null, total_m: number | null, parts: VisiblePart[]}} Visibility
 * @typedef {{sight: Sight, from_m: number, to_m: number, record_id: string, known: SightKnown, depth_pct:
 *   number | null}} Span
 */

const MIN_M = 1e-6; // two places nearer than this are one

/**
 * @param {RunFields} run
 * @param {StretchRecord[]} stretches
 * @param {ObservationRecord[]} observations
 * @param {ContinuousItem[]} items
 * @param {number | null} endCounterM
 * @param {number} scale
 * @param {VisibilityTable} table
 * @returns {Visibility}
 */
export function visibility(run, stretches, observations, items, endCounterM, scale, table) {
  const startM = run.counter_zero_m || 0;
  const looked = observations.some((one) => sight(one, table));
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
  const spans = [
    ...viewLost(ordered, items, startM, endCounterM, table),
    ...water(ordered, items, endCounterM, table),
    ...deposits(items, endCounterM, table)
  ];
  const leastM = run.least_end_counter_m ?? null;
  if (leastM !== null && leastM < endCounterM)
    spans.push(span('hidden', Math.max(leastM, startM), endCounterM, '', 'assumed', null));
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
 * @template {{run: any, stretches: any[]}} T
 * @param {T} grading
 * @param {Visibility} account
 * @param {number} scale
 * @returns {T}
 */
export function withUnseen(grading, account, scale) {
  const withExtent = (/** @type {any} */ one) => {
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

/** Its place; what has none was left out before. @param {ObservationRecord} one */
const placeOf = (one) => Number(one.fields.counter_m);

/**
 * Whether an observation shows that the wall was looked at.
 * @param {ObservationRecord} one
 * @param {VisibilityTable} table
 */
function sight(one, table) {
  const { code } = one.fields;
  return (
    Boolean(code) && ![...table.view_lost_codes, ...table.node_codes, table.water_code].includes(code ?? '')
  );
}

/**
 * @param {ObservationRecord[]} ordered
 * @param {ContinuousItem[]} items
 * @param {number} startM
 * @param {number} endM
 * @param {VisibilityTable} table
 * @returns {Span[]}
 */
function viewLost(ordered, items, startM, endM, table) {
  /** @type {Span[]} */
  const spans = [];
  const paired = new Set();
  /** @type {Map<string | null, number>} */
  const places = new Map(ordered.map((one) => [one.id, placeOf(one)]));
  const sights = ordered.filter((one) => sight(one, table)).map(placeOf);
  for (const item of items) {
    for (const id of [item.start_id, item.finish_id, ...item.change_ids]) paired.add(id);
    if (!table.view_lost_codes.includes(item.code)) continue;
    let toM = item.to_counter_m;
    // open, or finished before it began: then both places bound it
    if (toM === null) toM = item.open ? endM : (places.get(item.finish_id) ?? endM);
    const [from, to] = item.from_counter_m <= toM ? [item.from_counter_m, toM] : [toM, item.from_counter_m];
    spans.push(span('hidden', from, to, item.start_id, item.open ? 'assumed' : 'measured', null));
  }
  for (const one of ordered) {
    const { fields } = one;
    if (!table.view_lost_codes.includes(fields.code ?? '') || paired.has(one.id)) continue;
    const atM = placeOf(one);
    const role = fields.continuous?.role;
    if (role === 'finish' || role === 'change') {
      const before = firstFrom(sights, (place) => place >= atM);
      spans.push(span('hidden', before ? sights[before - 1] : startM, atM, one.id, 'assumed', null));
    }
    if (role !== 'finish') {
      const beyond = firstFrom(sights, (place) => place > atM);
      spans.push(
        span(
          'hidden',
          atM,
          beyond < sights.length ? sights[beyond] : Math.max(endM, atM),
          one.id,
          'assumed',
          null
        )
      );
    }
  }
  return spans;
}

/**
 * The first index of an ascending list from which on something holds.
 * @param {number[]} places
 * @param {(place: number) => boolean} holds
 */
function firstFrom(places, holds) {
  let [low, high] = [0, places.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (holds(places[middle])) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Each water level holds until the next; one that is continuous holds over its length and no further.
 * @param {ObservationRecord[]} ordered
 * @param {ContinuousItem[]} items
 * @param {number} endM
 * @param {VisibilityTable} table
 * @returns {Span[]}
 */
function water(ordered, items, endM, table) {
  const levels = ordered.filter((one) => one.fields.code === table.water_code);
  const paired = new Set(items.flatMap((item) => [item.start_id, item.finish_id, ...item.change_ids]));
  const spans = levels.flatMap((one, k) => {
    if (paired.has(one.id)) return [];
    const toM = k + 1 < levels.length ? placeOf(levels[k + 1]) : endM;
    return atDepth(one.fields, placeOf(one), toM, one.id, 'assumed', table);
  });
  for (const item of items) if (item.code === table.water_code) spans.push(...ofItem(item, endM, table));
  return spans;
}

/** @param {ContinuousItem[]} items @param {number} endM @param {VisibilityTable} table @returns {Span[]} */
function deposits(items, endM, table) {
  return items
    .filter((item) => item.code === table.deposit_code)
    .flatMap((item) => ofItem(item, endM, table))
    .map((one) => ({ ...one, sight: 'part' }));
}

/** @param {any} item @param {number} endM @param {VisibilityTable} table @returns {Span[]} */
function ofItem(item, endM, table) {
  return item.parts.flatMap((/** @type {any} */ part) => {
    const open = part.to_counter_m === null;
    return atDepth(
      part.fields,
      part.from_counter_m,
      open ? endM : part.to_counter_m,
      part.record_id,
      open ? 'assumed' : 'measured',
      table
    );
  });
}

/**
 * @param {Fields} fields
 * @param {number} fromM
 * @param {number} toM
 * @param {string} id
 * @param {SightKnown} provenance
 * @param {VisibilityTable} table
 * @returns {Span[]}
 */
function atDepth(fields, fromM, toM, id, provenance, table) {
  const depth = fields.quantification_1 ?? null;
  if (depth !== null && depth < table.part_from_pct) return [];
  return [
    span(
      depth !== null && depth >= table.hidden_from_pct ? 'hidden' : 'part',
      fromM,
      toM,
      id,
      provenance,
      depth
    )
  ];
}

/**
 * @param {Sight} sees
 * @param {number} fromM
 * @param {number} toM
 * @param {string} id
 * @param {SightKnown} provenance
 * @param {number | null} depth
 * @returns {Span}
 */
function span(sees, fromM, toM, id, provenance, depth) {
  return { sight: sees, from_m: fromM, to_m: toM, record_id: id, known: provenance, depth_pct: depth };
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
