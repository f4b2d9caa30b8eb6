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
  if (Object.keys(entry.fields ?? {}).length > ENTRY_FIELDS) return true;
  const size = { values: 0, mostBytes: 0 };
  measure(entry, 0, size);
  return (
    size.values > ENTRY_VALUES ||
    (size.mostBytes > ENTRY_BYTES && new TextEncoder().encode(JSON.stringify(entry)).length > ENTRY_BYTES)
  );
}

/**
 * Add to `values` how many values there are, without end where one is too deep, or a number that others would
 * read as another; to `mostBytes` no fewer bytes than the text has: a sign takes at most six.
 * @param {unknown} value
 * @param {number} depth
 * @param {{values: number, mostBytes: number}} size
 */
function measure(value, depth, size) {
  size.values += 1;
  if (typeof value === 'string') {
    size.mostBytes += 6 * value.length + 2;
  } else if (typeof value !== 'object' || value === null) {
    size.mostBytes += 26;
    if (Number.isInteger(value) && !Number.isSafeInteger(value)) size.values = Infinity;
  } else if (depth >= ENTRY_DEPTH) {
    size.values = Infinity;
  } else {
    let isEmpty = true;
    size.mostBytes += 2;
    for (const name in value) {
      isEmpty = false;
      size.mostBytes += 6 * name.length + 4;
      measure(/** @type {Values} */ (value)[name], depth + 1, size);
    }
    if (isEmpty) size.values += 1;
  }
}

/** @param {Entry} entry @returns {EntryFrame} what goes to the server in its place */
export function frameOf(entry) {
  /** @type {EntryFrame} */
  const frame = { job_id: entry.job_id, writer: entry.writer, number: entry.number, too_large: true };
  for (const name of /** @type {const} */ (['device_id', 'record_id', 'kind', 'recorded_at']))
    if (typeof entry[name] === 'string' && PLAIN.test(entry[name])) frame[name] = entry[name];
  return frame;
}
