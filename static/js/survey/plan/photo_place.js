/** Where a photo was taken: at the place of what it belongs to. Twin of webapp/survey/plan/photo_place.py. */

/** @typedef {import('../../records/types.js').PhotoFields} PhotoFields */

/**
 * @param {PhotoFields} photo @param {import('../../records/types.js').AnyFields | null} owner
 * @returns {PhotoFields}
 */
export function photoPlace(photo, owner) {
  const fields = { ...photo };
  if (owner === null || (owner.counter_m ?? null) === null) return fields;
  for (const name of /** @type {const} */ (['counter_m', 'counter_shown_m', 'counter_part'])) {
    delete fields[name];
    if ((owner[name] ?? null) !== null) fields[name] = owner[name];
  }
  if ((owner.run_id ?? null) !== null) fields.run_id = owner.run_id;
  return fields;
}
