/**
 * Which counter reading a new record of a run offers: never one behind the camera. Twin of
 * webapp/survey/instruments/counter_offer.py.
 */
import { counterParts, partOf } from './counter_resets.js';

/** @typedef {import('./instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {'reading' | 'observation' | 'stretch' | 'remark' | 'photo'} PlacedKind */
/** @typedef {{id: string, kind: PlacedKind, m: number}} Placed */
/** @typedef {{counter_m: number, whence: PlacedKind | 'reset' | 'zero', last_m: number | null}} Offer */

/**
 * Where the camera stood: level ties are left out, they are known from outside the pipe.
 * @type {Array<[PlacedKind, 'counter_m' | 'from_counter_m']>}
 */
const PLACES = [
  ['reading', 'counter_m'],
  ['observation', 'counter_m'],
  ['stretch', 'from_counter_m'],
  ['remark', 'counter_m'],
  ['photo', 'counter_m']
];
const SAME_PLACE_M = 1e-6;

/**
 * @param {RunFields} run
 * @param {Object<string, Item[]>} records by kind, as recorded
 * @returns {Offer | null}
 */
export function offeredCounter(run, records) {
  const parts = counterParts(records.reading);
  const drive = currentDrive(placed(records, parts));
  if (drive.length === 0) {
    if (parts.length > 1) return { counter_m: parts[parts.length - 1].from_m, whence: 'reset', last_m: null };
    const zeroM = run.counter_zero_m ?? null;
    return zeroM === null ? null : { counter_m: zeroM, whence: 'zero', last_m: null };
  }
  let [far] = drive;
  for (const one of drive) if (one.m >= far.m - SAME_PLACE_M) far = one;
  const lastM = drive[drive.length - 1].m;
  return {
    counter_m: far.m,
    whence: far.kind,
    last_m: Math.abs(lastM - far.m) > SAME_PLACE_M ? lastM : null
  };
}

/**
 * What was recorded since the counter was reset last, in the order of making.
 * @param {Object<string, Item[]>} records
 * @param {import('./counter_resets.js').CounterPart[]} parts
 * @returns {Placed[]}
 */
function placed(records, parts) {
  /** @type {Placed[]} */
  const found = [];
  for (const [kind, name] of PLACES) {
    const stated = kind === 'stretch' ? 'from_part' : 'counter_part';
    for (const { id, fields } of records[kind] ?? []) {
      const m = fields[name] ?? null;
      // a photo stands where its owner stands
      if (m === null || (kind === 'photo' && fields.belongs_to)) continue;
      if (partOf(parts, id, fields[stated] ?? null) === parts.length - 1) found.push({ id, kind, m });
    }
  }
  return found.sort((a, b) => (a.id < b.id ? -1 : a.id > b.id ? 1 : 0));
}

/** @param {Placed[]} all @returns {Placed[]} */
function currentDrive(all) {
  let begins = 0;
  /** @type {number | null} */
  let before = null;
  all.forEach(({ kind, m }, at) => {
    if (kind !== 'reading') return;
    if (before !== null && m < before - SAME_PLACE_M) begins = at;
    before = m;
  });
  return all.slice(begins);
}
