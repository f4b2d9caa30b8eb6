/**
 * What goes over from the last observation of the same code: its kinds, its quantities and its clock, each
 * said to be so.
 */
import { metres } from '../ui/format.js';
import { t } from '../text/words.js';

/** @typedef {import('../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../survey/coding/code_quantities.js').SizeField} SizeField */
/** @typedef {{characterisation_1?: string, characterisation_2?: string}} Kinds */
/**
 * @typedef {{kinds: Kinds, quantities: Object<string, import('./fields/quantity_field.js').Carried>, clock:
 *   import('../records/types.js').Clock | null}} Carry */

/** @type {SizeField[]} */
export const QUANTITIES = ['quantification_1', 'quantification_2'];

/**
 * Kinds may come from any run of the job; a quantity and a clock position only from this one.
 * @param {ObservationRecord[]} ofRun observations of the run, in order of making
 * @param {ObservationRecord[]} ofJob
 * @param {string} code @param {Kinds | null} kinds chosen already; null to take those of last time
 * @returns {Carry}
 */
export function carriedFrom(ofRun, ofJob, code, kinds) {
  const fits = (/** @type {ObservationRecord} */ one) =>
    one.fields.code === code &&
    one.fields.continuous?.role !== 'finish' &&
    (!kinds || (one.fields.characterisation_1 ?? '') === (kinds.characterisation_1 ?? ''));
  const here = ofRun.filter(fits).at(-1);
  const last = here ?? ofJob.filter(fits).at(-1);
  /** @type {Carry} */
  const carry = { kinds: kinds ?? {}, quantities: {}, clock: here?.fields.clock ?? null };
  if (!last) return carry;
  if (!kinds) {
    const { characterisation_1, characterisation_2 } = last.fields;
    carry.kinds = {
      ...(characterisation_1 && { characterisation_1 }),
      ...(characterisation_2 && { characterisation_2 })
    };
  }
  for (const name of QUANTITIES) {
    const value = here?.fields[name];
    if (typeof value === 'number')
      carry.quantities[name] = {
        value,
        words: t('carried.tag', { m: metres(here?.fields.counter_m ?? NaN) })
      };
  }
  return carry;
}

/**
 * Names of the fields of a record that were only taken over.
 * @param {string | null | undefined} value as it is stored
 * @returns {SizeField[]}
 */
export function takenOver(value) {
  const names = typeof value === 'string' ? value.split(',') : [];
  return QUANTITIES.filter((name) => names.includes(name));
}
