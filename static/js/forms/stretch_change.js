/** What a change of pipe writes: the end of the stretch that ran, if it had none, and the next stretch. */

/** @typedef {import('../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../ui/types.js').Change} Change */

/** What goes on into the next stretch where it is not said to be different. */
/** @type {Array<keyof import('../records/types.js').StretchFields>} */
const STAYS = [
  'shape',
  'height_mm',
  'width_mm',
  'size_known',
  'material',
  'lining',
  'pipe_unit_length_m',
  'roughness_mm'
];
/**
 * What rests on another field, and is not carried where that has changed: a roughness is that of a material
 * or a lining.
 */
const RESTS_ON = { roughness_mm: ['material', 'lining'] };

/**
 * The stretch in which a place lies: of those that begin before it, the one that begins last.
 * @param {StretchRecord[]} stretches of the run
 * @param {number | null} counterM
 * @returns {StretchRecord | null}
 */
export function runningStretch(stretches, counterM) {
  /** @type {StretchRecord | null} */
  let found = null;
  for (const one of stretches) {
    const fromM = one.fields.from_counter_m;
    if (typeof fromM !== 'number' || (counterM !== null && fromM >= counterM)) continue;
    if (!found || fromM >= (found.fields.from_counter_m ?? 0)) found = one;
  }
  return found;
}

/**
 * @param {StretchRecord[]} stretches of the run as they stand
 * @param {{id: string, run_id: string, counter_m: number}} next
 * @param {import('../records/types.js').StretchFields} values as the form has them
 * @param {Set<string>} changed names of the fields that are different from here on
 * @returns {Change[]}
 */
export function changeEntries(stretches, next, values, changed) {
  const before = runningStretch(stretches, next.counter_m);
  /** @type {import('../records/types.js').FieldsByName} */
  const fields = { run_id: next.run_id, from_counter_m: next.counter_m };
  for (const name of STAYS) {
    const rests = /** @type {Object<string, string[]>} */ (RESTS_ON)[name] ?? [];
    if (rests.some((one) => changed.has(one))) continue;
    const value = changed.has(name) ? values[name] : before?.fields[name];
    if (value !== null && value !== undefined) fields[name] = value;
  }
  /** @type {Change[]} */
  const entries = [{ kind: 'stretch', record_id: next.id, fields }];
  // An end that somebody gave is not replaced.
  if (before && (before.fields.to_counter_m ?? null) === null) {
    entries.unshift({ kind: 'stretch', record_id: before.id, fields: { to_counter_m: next.counter_m } });
  }
  return entries;
}
