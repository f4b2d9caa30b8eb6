/**
 * The same object seen in two runs of one length: where it lies in each, and counted once. Twin of
 * webapp/survey/lengths/same_objects.py.
 */
import { JUDGED } from '../coding/disputes.js';

/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../coding/continuous.js').ContinuousPart} ContinuousPart */
/** @typedef {import('../../records/types.js').ObservationRecord} Seen */
/** @typedef {import('../../records/types.js').Disputed} Disputed */
/** @typedef {import('../../records/types.js').FieldsByName} FieldsByName */

const STOPPED = 'BDC'; // what stopped both runs: each sees its own face of it
const FROM_OTHER = 'from another run';
const NEAR_M = 1; // the same code nearer than this in two runs may be one object

/**
 * @param {Seen[][]} pieces
 * @param {Array<Object<string, number>>} chainages
 * @returns {import('./pipe_length.js').SharedObject[]}
 */
export function sharedObjects(pieces, chainages) {
  const homes = new Map(pieces.flatMap((seen, k) => seen.map((one) => [one.id, k])));
  const byId = new Map(pieces.flat().map((one) => [one.id, one.fields]));
  return pieces.flatMap((seen, k) =>
    seen.flatMap((one) => {
      const other = one.fields.same_as ?? '';
      const home = homes.get(other);
      if (home === undefined || home === k) return [];
      const at = chainages[k][one.id] ?? null;
      const otherAt = chainages[home][other] ?? null;
      if (at === null || otherAt === null) return [];
      return [
        {
          piece: k,
          other: home,
          at_m: at,
          other_at_m: otherAt,
          blocks: [one.fields.code, byId.get(other)?.code].includes(STOPPED)
        }
      ];
    })
  );
}

/**
 * @template {Seen} T
 * @param {T[]} observations
 * @param {ContinuousItem[]} items
 * @returns {[T[], ContinuousItem[], Object<string, string>]}
 */
export function countedOnce(observations, items) {
  const byId = new Map(observations.map((one) => [one.id, one]));
  const starts = new Map(items.map((item) => [item.start_id, item]));
  const inner = new Set(
    items.flatMap((item) => [item.finish_id, ...item.change_ids].filter((id) => id !== null))
  );
  /** @type {Object<string, string>} */
  const repeats = {};
  for (const one of observations) {
    const kept = keptOf(one.id, byId);
    if (kept === one.id || inner.has(one.id) || inner.has(kept)) continue;
    if (starts.has(one.id) === starts.has(kept)) repeats[one.id] = kept;
  }
  for (const [gone, kept] of Object.entries(repeats))
    byId.set(kept, both(/** @type {T} */ (byId.get(kept)), /** @type {T} */ (byId.get(gone))));
  const joined = together(items, repeats);
  for (const [gone, kept] of Object.entries(repeats)) {
    const item = starts.get(gone);
    if (!item) continue;
    for (const id of [item.finish_id, ...item.change_ids]) if (id !== null) repeats[id] = kept;
  }
  return [
    observations.filter((one) => !(one.id in repeats)).map((one) => /** @type {T} */ (byId.get(one.id))),
    joined,
    repeats
  ];
}

/**
 * The observation that the names lead to; of a circle, the least of it by its id.
 * @param {string} recordId
 * @param {Map<string, Seen>} byId
 * @returns {string}
 */
function keptOf(recordId, byId) {
  const seen = [recordId];
  let at = recordId;
  for (let other = namedBy(at, byId); byId.has(other); other = namedBy(at, byId)) {
    if (seen.includes(other)) return seen.slice(seen.indexOf(other)).sort()[0];
    seen.push(other);
    at = other;
  }
  return at;
}

/** @param {string} recordId @param {Map<string, Seen>} byId @returns {string} empty where it names none */
function namedBy(recordId, byId) {
  return byId.get(recordId)?.fields.same_as ?? '';
}

/**
 * The one that is kept, with what only the other says, and with both values where they differ.
 * @template {Seen} T
 * @param {T} kept
 * @param {T} gone
 * @returns {T}
 */
function both(kept, gone) {
  /** @type {FieldsByName} */
  const fields = { ...kept.fields };
  /** @type {Disputed} */
  const conflicts = { ...kept.conflicts };
  /** @type {FieldsByName} */
  const others = gone.fields;
  for (const name of [...JUDGED, 'clock', 'at_joint']) {
    const theirs = others[name] ?? null;
    if (theirs === null) continue;
    const ours = fields[name] ?? null;
    if (ours === null) fields[name] = theirs;
    else if (ours !== theirs && JUDGED.includes(name))
      conflicts[name] = [[FROM_OTHER, theirs], ...(conflicts[name] ?? [['here', ours]])];
  }
  return Object.keys(conflicts).length ? { ...kept, fields, conflicts } : { ...kept, fields };
}

/**
 * What two runs saw of the same length, as one; each part as the first of them saw it.
 * @param {ContinuousItem[]} items
 * @param {Object<string, string>} repeats
 * @returns {ContinuousItem[]}
 */
function together(items, repeats) {
  const found = new Map(
    items.filter((item) => !(item.start_id in repeats)).map((item) => [item.start_id, { ...item }])
  );
  for (const item of items) {
    const kept = found.get(repeats[item.start_id] ?? '');
    if (!kept) continue;
    const [start, end] = [kept.from_counter_m, kept.to_counter_m];
    const more = end === null ? [] : item.parts.flatMap((part) => outside(part, start, end));
    kept.parts = [...kept.parts, ...more].sort((a, b) => a.from_counter_m - b.from_counter_m);
    kept.from_counter_m = Math.min(start, item.from_counter_m);
    if (end !== null && item.to_counter_m !== null) kept.to_counter_m = Math.max(end, item.to_counter_m);
  }
  return [...found.values()];
}

/**
 * What of a part lies before and beyond a length.
 * @param {ContinuousPart} part
 * @param {number} start
 * @param {number} end
 */
function outside(part, start, end) {
  const { from_counter_m: from, to_counter_m: to } = part;
  if (to === null) return [];
  const found = [];
  if (from < start) found.push({ ...part, to_counter_m: Math.min(to, start) });
  if (to > end) found.push({ ...part, from_counter_m: Math.max(from, end) });
  return found;
}

/**
 * @param {Seen[][]} pieces placed along the length
 * @param {string[]} codes that are counted
 * @param {Object<string, string>} repeats
 * @returns {string[][]}
 */
export function perhapsSame(pieces, codes, repeats) {
  const marked = new Set([...Object.keys(repeats), ...Object.values(repeats)]);
  return pieces.flatMap((seen, k) => {
    const mine = seen.filter((one) => codes.includes(one.fields.code ?? '') && !marked.has(one.id));
    return pieces.slice(k + 1).flatMap((others) => {
      const free = others.filter((one) => !marked.has(one.id));
      return mine.flatMap((one) => free.filter((two) => alike(one, two)).map((two) => [one.id, two.id]));
    });
  });
}

/** @param {Seen} one @param {Seen} two */
function alike(one, two) {
  const [ours, theirs] = [one.fields, two.fields];
  const [oursM, theirsM] = [ours.counter_m ?? null, theirs.counter_m ?? null];
  if (ours.code !== theirs.code || oursM === null || theirsM === null) return false;
  return ours.continuous?.role === theirs.continuous?.role && Math.abs(oursM - theirsM) <= NEAR_M;
}
