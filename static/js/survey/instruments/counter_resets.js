/**
 * A counter that was reset part-way: where every record lies as if it had run on. Twin of
 * webapp/survey/instruments/counter_resets.py.
 */
import { segmentStarts } from './counter_scale.js';

/** @typedef {import('./instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').AnyFields} AnyFields */
/** @typedef {import('../../records/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../records/types.js').CounterReset} CounterReset */
/** @typedef {import('../../records/types.js').LevelTieRecord} LevelTieRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/**
 * @typedef {{reading_id: string | null, from_m: number, to_m: number | null, start_m: number}} CounterPart
 */

/** @param {ReadingRecord[]} readings in the order of their making @returns {CounterPart[]} */
export function counterParts(readings) {
  const resets = readings.filter((one) => one.fields.counter_reset);
  const froms = [0, ...resets.map((one) => /** @type {CounterReset} */ (one.fields.counter_reset).set_to_m)];
  const tos = [
    ...resets.map((one) => /** @type {CounterReset} */ (one.fields.counter_reset).had_shown_m),
    froms[froms.length - 1]
  ];
  const starts = segmentStarts(
    froms.map((from, k) => ({ counter_from_m: from, counter_to_m: tos[k] })),
    0,
    1
  );
  const last = resets.length;
  return starts.map((start, k) => ({
    reading_id: k === 0 ? null : resets[k - 1].id,
    from_m: froms[k],
    to_m: k < last ? tos[k] : null,
    start_m: start
  }));
}

/** @param {CounterPart[]} parts @param {string} recordId @param {number | null} stated @returns {number} */
export function partOf(parts, recordId, stated) {
  const own = parts.findIndex((part) => part.reading_id === recordId);
  if (own >= 0) return own;
  if (stated !== null) return Math.min(Math.trunc(stated), parts.length) - 1;
  let before = 0;
  for (const part of parts) if (part.reading_id !== null && part.reading_id < recordId) before += 1;
  return before;
}

/**
 * @template {{reading: ReadingRecord[], [kind: string]: Item[]}} T
 * @param {RunFields} run fields of the run @param {T} records by kind
 * @returns {[RunFields, T, CounterPart[]]}
 */
export function asIfNeverReset(run, records) {
  const parts = counterParts(records.reading);
  if (parts.length === 1) return [run, records, parts];
  const endM = shownM(run, 'end_counter_m');
  const end =
    endM === null
      ? {}
      : { end_counter_m: runningM(parts[parts.length - 1], endM), end_counter_shown_m: endM };
  const whole = { ...run, ...end };
  const moved = /** @type {T} */ (
    Object.fromEntries(
      Object.entries(records).map(([kind, listed]) => [kind, listed.map((one) => movedBy(parts, one))])
    )
  );
  return [whole, moved, parts];
}

/**
 * What the counter showed.
 * @param {AnyFields} fields
 * @param {string} name of the counter reading
 * @returns {number | null}
 */
export function shownM(fields, name) {
  const values = /** @type {Object<string, number | null | undefined>} */ (fields);
  return values[shownName(name)] ?? values[name] ?? null;
}

/**
 * What the counter showed at a place that one never reset would have named, and its part.
 * @param {CounterPart[]} parts
 * @param {number} runningM
 * @returns {[number, number]}
 */
export function shownAt(parts, runningM) {
  let k = 0;
  while (k + 1 < parts.length && runningM > parts[k + 1].start_m) k += 1;
  return [parts[k].from_m + (runningM - parts[k].start_m), k + 1];
}

/**
 * @param {CounterPart[]} parts
 * @param {LevelTieRecord[]} levelTies
 * @param {StretchRecord[]} stretches
 * @returns {import('../review/plausibility.js').RecordFinding[]}
 */
export function partFindings(parts, levelTies, stretches) {
  /** @type {import('../review/plausibility.js').RecordFinding[]} */
  const found = [];
  if (parts.length === 1) return found;
  for (const tie of levelTies) {
    const counterM = shownM(tie.fields, 'counter_m');
    const place = partOf(parts, tie.id, null);
    if (counterM !== null && (tie.fields.counter_part ?? null) === null && place > 0) {
      found.push(byOrder(tie, 'counter_part', counterM, place));
    }
  }
  for (const stretch of stretches) {
    const { fields } = stretch;
    const places = endsOf(parts, stretch.id, fields);
    ['from', 'to'].forEach((name, k) => {
      const counterM = shownM(fields, `${name}_counter_m`);
      const sure = name === 'from' && places[k] === 0;
      const field = name === 'from' ? 'from_part' : 'to_part';
      if (counterM !== null && (fields[field] ?? null) === null && !sure) {
        found.push(byOrder(stretch, field, counterM, places[k]));
      }
    });
  }
  return found;
}

/** @param {Item} record @param {string} field @param {number} counterM @param {number} place */
function byOrder(record, field, counterM, place) {
  return {
    record_id: record.id,
    code: 'counter_part_by_order',
    field,
    values: { counter_m: counterM, part: place + 1 }
  };
}

/** @param {string} name */
function shownName(name) {
  return name.replace('counter_m', 'counter_shown_m');
}

/** @param {CounterPart} part @param {number} counterM @returns {number} */
function runningM(part, counterM) {
  return part.start_m + (counterM - part.from_m);
}

/** @param {CounterPart[]} parts @param {Item} record */
function movedBy(parts, record) {
  /** @type {AnyFields & FieldsByName} */
  const fields = { ...record.fields };
  const counterM = shownM(fields, 'counter_m');
  if (counterM !== null) {
    const part = parts[partOf(parts, record.id, fields.counter_part ?? null)];
    fields.counter_shown_m = counterM;
    fields.counter_m = runningM(part, counterM);
  }
  const ends = endsOf(parts, record.id, fields);
  ['from_counter_m', 'to_counter_m'].forEach((name, k) => {
    const showedM = shownM(fields, name);
    if (showedM === null) return;
    fields[shownName(name)] = showedM;
    fields[name] = runningM(parts[ends[k]], showedM);
  });
  return { ...record, fields };
}

/**
 * In which parts a stretch begins and ends.
 * @param {CounterPart[]} parts
 * @param {string} recordId
 * @param {StretchRecord['fields']} fields
 * @returns {[number, number]}
 */
function endsOf(parts, recordId, fields) {
  const begins = partOf(parts, recordId, fields.from_part ?? null);
  const ends = fields.to_part ?? null;
  if (ends !== null) return [begins, partOf(parts, recordId, ends)];
  const [fromM, toM] = [shownM(fields, 'from_counter_m'), shownM(fields, 'to_counter_m')];
  if (fromM === null || toM === null) return [begins, begins];
  const leastM = runningM(parts[begins], fromM);
  for (let k = begins; k < parts.length - 1; k += 1) {
    const endM = parts[k].to_m;
    if (endM !== null && toM <= endM && runningM(parts[k], toM) > leastM) return [begins, k];
  }
  return [begins, parts.length - 1];
}
