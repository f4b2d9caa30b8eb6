/** What is too large for an entry, and the frame that stands for it. Twin of webapp/records/entry_budget.py. */

/** @typedef {import('./fold.js').Entry} Entry */

const ENTRY_BYTES = 64_000;
const ENTRY_FIELDS = 100;
const ENTRY_VALUES = 4000;
const ENTRY_DEPTH = 16;
export const PHOTOS_A_JOB = 20_000;
const PLAIN = /^[ -~]{1,80}$/;

/** @param {any} entry @returns {boolean} */
export function isTooLarge(entry) {
  const text = JSON.stringify(entry);
  return (
    (text.length > ENTRY_BYTES / 3 && new TextEncoder().encode(text).length > ENTRY_BYTES) ||
    Object.keys(entry.fields ?? {}).length > ENTRY_FIELDS ||
    valuesOf(entry, 0) > ENTRY_VALUES
  );
}

/**
 * How many values there are; without end where one is too deep, or a number that others would read as
 * another.
 * @param {any} value
 * @param {number} depth
 * @returns {number}
 */
function valuesOf(value, depth) {
  if (typeof value === 'number')
    return Number.isInteger(value) && !Number.isSafeInteger(value) ? Infinity : 1;
  if (typeof value !== 'object' || value === null) return 1;
  if (depth >= ENTRY_DEPTH) return Infinity;
  const members = Object.values(value);
  return members.reduce((sum, one) => sum + valuesOf(one, depth + 1), members.length ? 1 : 2);
}

/** @param {any} entry @returns {any} what goes to the server in its place */
export function frameOf(entry) {
  /** @type {any} */
  const frame = { job_id: entry.job_id, writer: entry.writer, number: entry.number, too_large: true };
  for (const name of ['device_id', 'record_id', 'kind', 'recorded_at'])
    if (typeof entry[name] === 'string' && PLAIN.test(entry[name])) frame[name] = entry[name];
  return frame;
}
