/** What a writer or a field may be called. Twin of webapp/schemas/names.py. */

const NAME = /^[A-Za-z0-9_-]{1,64}$/;

/** A name that every object has by itself is none. @param {unknown} value @returns {boolean} */
export function isName(value) {
  return typeof value === 'string' && NAME.test(value) && !(value in {});
}
