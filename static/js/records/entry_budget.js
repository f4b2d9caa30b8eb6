/** What is too large for an entry, and the frame that stands for it. Twin of webapp/records/entry_budget.py. */

/** @typedef {import('./fold.js').Entry} Entry */
/** @typedef {Object<string, unknown>} Values */

const ENTRY_BYTES = 64_000;
const ENTRY_FIELDS = 100;
const ENTRY_VALUES = 4000;
const ENTRY_DEPTH = 16;
export const PHOTOS_A_JOB = 20_000;
const PLAIN = /^[ -~]{1,80}$/;

/** @typedef {import('../sync/wire.js').EntryFrame} EntryFrame */

/** @param {{fields?: object}} entry @returns {boolean} */
export function isTooLarge(entry) {
  return (
    Object.keys(entry.fields ?? {}).length > ENTRY_FIELDS ||
    valuesOf(entry, 0) > ENTRY_VALUES ||
    (mostBytesOf(entry) > ENTRY_BYTES && new TextEncoder().encode(JSON.stringify(entry)).length > ENTRY_BYTES)
  );
}

/**
 * How many values there are; without end where one is too deep, or a number that others would read as
 * another.
 * @param {unknown} value
 * @param {number} depth
 * @returns {number}
 */
function valuesOf(value, depth) {
  if (typeof value === 'number')
    return Number.isInteger(value) && !Number.isSafeInteger(value) ? Infinity : 1;
  if (typeof value !== 'object' || value === null) return 1;
  if (depth >= ENTRY_DEPTH) return Infinity;
  let count = 1;
  for (const name in value) count += valuesOf(/** @type {Values} */ (value)[name], depth + 1);
  return count === 1 ? 2 : count;
}

/** No fewer bytes than the text of a value has; a sign takes at most six. @param {unknown} value @returns {number} */
function mostBytesOf(value) {
  if (typeof value === 'string') return 6 * value.length + 2;
  if (typeof value !== 'object' || value === null) return 26;
  let bytes = 2;
  for (const name in value) bytes += 6 * name.length + 4 + mostBytesOf(/** @type {Values} */ (value)[name]);
  return bytes;
}

/** @param {Entry} entry @returns {EntryFrame} what goes to the server in its place */
export function frameOf(entry) {
  /** @type {EntryFrame} */
  const frame = { job_id: entry.job_id, writer: entry.writer, number: entry.number, too_large: true };
  for (const name of /** @type {const} */ (['device_id', 'record_id', 'kind', 'recorded_at']))
    if (typeof entry[name] === 'string' && PLAIN.test(entry[name])) frame[name] = entry[name];
  return frame;
}
