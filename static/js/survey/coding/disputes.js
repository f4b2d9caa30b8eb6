/** Values that two people recorded differently. Twin of webapp/survey/coding/disputes.py. */

/** @typedef {Object<string, any>} Fields */

export const JUDGED = [
  'code',
  'characterisation_1',
  'characterisation_2',
  'quantification_1',
  'quantification_2'
];
const MAX_VARIANTS = 64; // beyond, one field is varied at a time

/**
 * @template {Fields} F the fields of a record of one kind
 * @param {F} fields
 * @param {Object<string, Array<[string, any]>> | null | undefined} conflicts
 * @param {string[]} [judged]
 * @returns {F[]}
 */
export function variants(fields, conflicts, judged = JUDGED) {
  const names = judged.filter((name) => conflicts && name in conflicts);
  const choices = names.map((name) =>
    /** @type {any} */ (conflicts)[name].map((/** @type {[string, any]} */ [, value]) => value)
  );
  const count = choices.reduce((product, values) => product * values.length, 1);
  const sets =
    count <= MAX_VARIANTS
      ? combined(names, choices)
      : names.flatMap((name, k) => choices[k].map((/** @type {any} */ value) => ({ [name]: value })));
  /** @type {Fields[]} */
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

/** @param {string[]} names @param {any[][]} choices @returns {Fields[]} */
function combined(names, choices) {
  /** @type {Fields[]} */
  let sets = [{}];
  names.forEach((name, k) => {
    sets = sets.flatMap((one) => choices[k].map((value) => ({ ...one, [name]: value })));
  });
  return sets;
}

/** @param {Fields} fields @returns {string} */
function spelled(fields) {
  return JSON.stringify(
    Object.keys(fields)
      .sort()
      .map((name) => [name, fields[name]])
  );
}
