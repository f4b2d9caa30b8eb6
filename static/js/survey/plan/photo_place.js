/** Where a photo was taken: at the place of what it belongs to. Twin of webapp/survey/plan/photo_place.py. */

/** @typedef {Object<string, any>} Fields */

/** @param {Fields} photo @param {Fields | null} owner @returns {Fields} */
export function photoPlace(photo, owner) {
  const fields = { ...photo };
  if (owner === null || (owner.counter_m ?? null) === null) return fields;
  for (const name of ['counter_m', 'counter_shown_m', 'counter_part']) {
    delete fields[name];
    if ((owner[name] ?? null) !== null) fields[name] = owner[name];
  }
  if ((owner.run_id ?? null) !== null) fields.run_id = owner.run_id;
  return fields;
}
