/**
 * Records of a run as part of one length: placed along it, and turned round from its other end. Twin of
 * webapp/survey/lengths/records.py.
 */
import { shownM } from '../instruments/counter_resets.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/**
 * @typedef {import('../../records/types.js').AnyFields & import('../../records/types.js').FieldsByName}
 *   Fields
 */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../../records/types.js').Clock} Clock */
/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../coding/continuous.js').ContinuousPart} ContinuousPart */
/**
 * @typedef {{zero_m: number, scale: number, turned: boolean, length_m: number, onto_zero_m: number,
 *   onto_scale: number, shift_deg: number}} LengthFrame
 */

/** @typedef {import('../../records/types.js').TurnsTo} TurnsTo */
/** @typedef {import('../../records/types.js').InclinationSense} InclinationSense */

const BEND = 'BCC';
/** @type {Object<string, string>} of a bend: to the left, to the right */
const SIDES = { A: 'B', B: 'A' };
/** @type {Object<string, TurnsTo>} of an angled joint; up stays up */
const TURNS = {
  left: 'right',
  right: 'left',
  left_up: 'right_up',
  right_up: 'left_up',
  left_down: 'right_down',
  right_down: 'left_down'
};
/** @type {Object<string, InclinationSense>} */
const SENSES = { rising: 'falling', falling: 'rising' };

/** @param {number} counterM @param {LengthFrame} frame @returns {number} */
export function lengthCounter(counterM, frame) {
  let along = (counterM - frame.zero_m) * frame.scale;
  if (frame.turned) along = frame.length_m - along;
  return frame.onto_zero_m + along / frame.onto_scale;
}

/** @param {Clock} clock @returns {Clock} */
export function lengthClock(clock) {
  const start = clock.hour_from ?? null;
  const end = clock.hour_to ?? null;
  if (start !== null && end !== null) return { ...clock, hour_from: mirrored(end), hour_to: mirrored(start) };
  return start === null ? { ...clock } : { ...clock, hour_from: mirrored(start) };
}

/** @param {number} hour */
function mirrored(hour) {
  const other = (((12 - hour) % 12) + 12) % 12;
  return other === 0 ? 12 : other;
}

/** @template {Item} T @param {string} kind @param {T} record @param {LengthFrame} frame @returns {T} */
export function inLength(kind, record, frame) {
  /** @type {Fields} */
  const fields = { ...record.fields };
  for (const name of ['counter_m', 'from_counter_m', 'to_counter_m']) {
    const counterM = fields[name] ?? null;
    if (counterM === null) continue;
    fields[name.replace('counter_m', 'counter_shown_m')] = shownM(record.fields, name);
    fields[name] = lengthCounter(Number(counterM), frame);
  }
  if (kind === 'reading' && frame.shift_deg) fields.zero_shift_deg = frame.shift_deg;
  if (frame.turned) turn(kind, fields);
  return { ...record, fields };
}

/** Turn round what depends on the way of looking. @param {string} kind @param {Fields} fields */
function turn(kind, fields) {
  if (kind === 'reading') {
    fields.turned = true;
    const { inclination } = fields;
    if (inclination) {
      fields.inclination_shown = inclination;
      fields.inclination = { ...inclination, sense: SENSES[inclination.sense] ?? inclination.sense };
    }
  }
  if (kind === 'observation') {
    if (fields.clock) fields.clock = lengthClock(fields.clock);
    const [side, turns] = [SIDES[fields.characterisation_1 ?? ''], TURNS[fields.turns_to ?? '']];
    if (fields.code === BEND && side) fields.characterisation_1 = side;
    if (turns) fields.turns_to = turns;
  }
  if (kind === 'stretch') {
    /** @type {Array<[string, FieldValue | undefined]>} */
    const given = [];
    for (const name of ['from_counter_m', 'to_counter_m', 'from_counter_shown_m', 'to_counter_shown_m']) {
      if (!(name in fields)) continue;
      given.push([
        name.startsWith('from_') ? name.replace('from_', 'to_') : name.replace('to_', 'from_'),
        fields[name]
      ]);
      delete fields[name];
    }
    for (const [name, value] of given) fields[name] = value;
  }
}

/**
 * @param {ContinuousItem[]} items of `continuousItems` of the piece
 * @param {number | null} endCounterM
 * @param {LengthFrame} frame
 * @returns {ContinuousItem[]}
 */
export function itemsInLength(items, endCounterM, frame) {
  return items.map((item) => {
    const closes = item.open && endCounterM !== null ? endCounterM : null;
    const parts = item.parts.map((part) => ({ ...part, ...endsOf(part, closes, frame) }));
    if (frame.turned) parts.reverse();
    return { ...item, ...endsOf(item, closes, frame), parts };
  });
}

/**
 * From where to where; what has no end then is a point from the other end.
 * @param {{from_counter_m: number, to_counter_m: number | null}} one
 * @param {number | null} closes
 * @param {LengthFrame} frame
 */
function endsOf(one, closes, frame) {
  const from = one.from_counter_m;
  let to = one.to_counter_m;
  if (to === null && closes !== null) to = Math.max(from, closes);
  const start = lengthCounter(from, frame);
  if (to === null) return { from_counter_m: start, to_counter_m: null };
  const end = lengthCounter(to, frame);
  return frame.turned
    ? { from_counter_m: end, to_counter_m: start }
    : { from_counter_m: start, to_counter_m: end };
}

/**
 * @template {ObservationRecord} T
 * @param {T[]} observations
 * @param {ContinuousItem[]} items
 * @param {number | null} endCounterM
 * @param {LengthFrame} frame
 * @returns {T[]}
 */
export function observationsInLength(observations, items, endCounterM, frame) {
  const places = new Map(observations.map((one) => [one.id, one.fields]));
  /** @type {Map<string, ObservationRecord['fields']>} */
  const swapped = new Map();
  for (const item of frame.turned ? items : []) {
    if (item.finish_id !== null) {
      swapped.set(item.start_id, counters(places.get(item.finish_id) ?? {}));
      swapped.set(item.finish_id, counters(places.get(item.start_id) ?? {}));
    } else if (item.open && endCounterM !== null && endCounterM > item.from_counter_m) {
      swapped.set(item.start_id, { counter_m: endCounterM, counter_shown_m: endCounterM });
    }
  }
  return observations.map((one) =>
    inLength('observation', { ...one, fields: { ...one.fields, ...swapped.get(one.id) } }, frame)
  );
}

/** @param {ObservationRecord['fields']} fields */
function counters(fields) {
  return { counter_m: fields.counter_m, counter_shown_m: shownM(fields, 'counter_m') };
}
