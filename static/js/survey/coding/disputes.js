/** Values that two people recorded differently. Twin of webapp/survey/coding/disputes.py. */

/** @typedef {import('../../records/types.js').AnyFields} AnyFields */
/** @typedef {import('../../records/types.js').Disputed} Disputed */
/** @typedef {import('../../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../../records/types.js').FieldsByName} FieldsByName */

export const JUDGED = [
  'code',
  'characterisation_1',
  'characterisation_2',
  'quantification_1',
  'quantification_2'
];
const MAX_VARIANTS = 64; // beyond, one field is varied at a time

/**
 * @template {AnyFields} F the fields of a record of one kind
 * @param {F} fields
 * @param {Disputed | null | undefined} conflicts
 * @param {string[]} [judged]
 * @returns {F[]}
 */
export function variants(fields, conflicts, judged = JUDGED) {
  const names = judged.filter((name) => conflicts && name in conflicts);
  const choices = names.map((name) => /** @type {Disputed} */ (conflicts)[name].map(([, value]) => value));
  const count = choices.reduce((product, values) => product * values.length, 1);
  const sets =
    count <= MAX_VARIANTS
      ? combined(names, choices)
      : names.flatMap((name, k) => choices[k].map((value) => ({ [name]: value })));
  /** @type {FieldsByName[]} */
  const found = [{ ...fields }];
  const seen = new Set([spelled(found[0])]);
  for (const one of sets) {
    const variant = Object.fromEntries(
      Object.entries({ ...fields, ...one }).filter(([, value]) => value !== null)
    );
    const key = spelled(variant);
    if (seen.has(key)) continue;
    seen.add(key);
    found.push(variant);
  }
  return /** @type {F[]} */ (found);
}

/** @param {string[]} names @param {FieldValue[][]} choices @returns {FieldsByName[]} */
function combined(names, choices) {
  /** @type {FieldsByName[]} */
  let sets = [{}];
  names.forEach((name, k) => {
    sets = sets.flatMap((one) => choices[k].map((value) => ({ ...one, [name]: value })));
  });
  return sets;
}

/** @param {FieldsByName} fields @returns {string} */
function spelled(fields) {
  return JSON.stringify(
    Object.keys(fields)
      .sort()
      .map((name) => [name, fields[name]])
  );
}
