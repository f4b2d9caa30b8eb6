/**
 * Where the wall is not known: view lost, water, deposits that go on, and what was erased since. Twin of
 * webapp/survey/coding/hidden_spans.py.
 */

/** @typedef {import('./continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../../records/tables.js').VisibilityTable} VisibilityTable */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../records/types.js').ObservationFields} Fields */
/** @typedef {'clear' | 'part' | 'hidden'} Sight */
/** @typedef {'measured' | 'assumed'} SightKnown */
/**
 * @typedef {{sight: Sight, from_m: number, to_m: number, record_id: string, known: SightKnown, depth_pct:
 *   number | null}} Span
 */

/**
 * @param {ObservationRecord[]} ordered by counter reading
 * @param {ContinuousItem[]} items
 * @param {number} startM
 * @param {number} endM
 * @param {VisibilityTable} table
 * @returns {Span[]}
 */
export function hiddenSpans(ordered, items, startM, endM, table) {
  return [
    ...viewLost(ordered, items, startM, endM, table),
    ...water(ordered, items, endM, table),
    ...deposits(items, endM, table)
  ];
}

export const ERASED = 'erased:'; // before the id of a record that was erased

/**
 * @param {StretchRecord[]} places of what was erased
 * @param {ObservationRecord[]} ordered by counter reading
 * @param {number} startM
 * @param {number} endM
 * @param {VisibilityTable} table
 * @returns {Span[]}
 */
export function erasedSpans(places, ordered, startM, endM, table) {
  const sights = ordered.filter((one) => looksAtWall(one, table)).map(placeOf);
  return places.map(({ id, fields }) => {
    const [fromM, toM] = [fields.from_counter_m ?? null, fields.to_counter_m ?? null];
    const before = fromM === null ? 0 : firstFrom(sights, (place) => place >= fromM);
    const beyond = toM === null ? sights.length : firstFrom(sights, (place) => place > toM);
    const low = before ? Math.max(startM, sights[before - 1]) : startM;
    const high = beyond < sights.length ? Math.min(endM, sights[beyond]) : endM;
    return hiddenSpan('hidden', low, high, ERASED + id, 'assumed', null);
  });
}

/** Its place; what has none was left out before. @param {ObservationRecord} one */
const placeOf = (one) => Number(one.fields.counter_m);

/**
 * Whether an observation shows that the wall was looked at.
 * @param {ObservationRecord} one
 * @param {VisibilityTable} table
 * @returns {boolean}
 */
export function looksAtWall(one, table) {
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
  const sights = ordered.filter((one) => looksAtWall(one, table)).map(placeOf);
  for (const item of items) {
    for (const id of [item.start_id, item.finish_id, ...item.change_ids]) paired.add(id);
    if (!table.view_lost_codes.includes(item.code)) continue;
    let toM = item.to_counter_m;
    // open, or finished before it began: then both places bound it
    if (toM === null) toM = item.open ? endM : (places.get(item.finish_id) ?? endM);
    const [from, to] = item.from_counter_m <= toM ? [item.from_counter_m, toM] : [toM, item.from_counter_m];
    spans.push(hiddenSpan('hidden', from, to, item.start_id, item.open ? 'assumed' : 'measured', null));
  }
  for (const one of ordered) {
    const { fields } = one;
    if (!table.view_lost_codes.includes(fields.code ?? '') || paired.has(one.id)) continue;
    const atM = placeOf(one);
    const role = fields.continuous?.role;
    if (role === 'finish' || role === 'change') {
      const before = firstFrom(sights, (place) => place >= atM);
      spans.push(hiddenSpan('hidden', before ? sights[before - 1] : startM, atM, one.id, 'assumed', null));
    }
    if (role !== 'finish') {
      const beyond = firstFrom(sights, (place) => place > atM);
      spans.push(
        hiddenSpan(
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

/** @param {ContinuousItem} item @param {number} endM @param {VisibilityTable} table @returns {Span[]} */
function ofItem(item, endM, table) {
  return item.parts.flatMap((part) => {
    return atDepth(
      part.fields,
      part.from_counter_m,
      part.to_counter_m ?? endM,
      part.record_id,
      part.to_counter_m === null ? 'assumed' : 'measured',
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
    hiddenSpan(
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
export function hiddenSpan(sees, fromM, toM, id, provenance, depth) {
  return { sight: sees, from_m: fromM, to_m: toM, record_id: id, known: provenance, depth_pct: depth };
}
