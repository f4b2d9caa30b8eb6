/**
 * Readings from a file beside what a run holds already. Twin of
 * webapp/survey/readings_file/readings_taken.py.
 */

/** @typedef {import('./readings_csv.js').CsvReading} CsvReading */
/** @typedef {import('../../records/types.js').ReadingFields} ReadingFields */
/** @typedef {import('../../records/types.js').FieldsByName} FieldsByName */
/** @typedef {{line: number, record_id: string, fields: ReadingFields}} MadeReading */
/**
 * @typedef {{new: MadeReading[], other: MadeReading[], removed: MadeReading[], gone: MadeReading[], same:
 *   number, places: number, otherwise: boolean}} BesideStanding
 */

/** @type {Array<'counter_m' | 'inclination' | 'remark'>} */
const FIELDS = ['counter_m', 'inclination', 'remark'];
/** @type {Array<'counter_typed' | 'counter_unit' | 'counter_added_m'>} */
const RAW = ['counter_typed', 'counter_unit', 'counter_added_m'];

/** @param {string} fileSha256 @param {string} runId @param {number} line @returns {string} */
export function readingId(fileSha256, runId, line) {
  const own = Number.parseInt(fileSha256.slice(6, 12), 16) ^ Number.parseInt(runId.slice(-6), 16);
  const tail = hex6(line) + hex6(own);
  return `${runId.slice(0, 13)}-8${fileSha256.slice(0, 3)}-8${fileSha256.slice(3, 6)}-${tail}`;
}

/** @param {number} value @returns {string} */
function hex6(value) {
  return value.toString(16).padStart(6, '0');
}

/**
 * @param {CsvReading[]} taken
 * @param {string} fileSha256
 * @param {string} runId
 * @param {Array<{id: string, fields: ReadingFields, removed: boolean}>} standing
 * @returns {BesideStanding}
 */
export function besideStanding(taken, fileSha256, runId, standing) {
  const known = new Map(standing.map((row) => [row.id, row]));
  const occupied = new Set();
  for (const { fields, removed } of standing) {
    const counterM = fields.counter_m ?? null;
    if (!removed && counterM !== null) occupied.add(centimetre(counterM));
  }
  /** @type {BesideStanding} */
  const found = { new: [], other: [], removed: [], gone: [], same: 0, places: 0, otherwise: false };
  for (const row of taken) {
    const record_id = readingId(fileSha256, runId, row.line);
    /** @type {FieldsByName} */
    const fields = { run_id: runId };
    for (const name of FIELDS) if (row[name] !== null) fields[name] = row[name];
    for (const name of RAW) if ((row[name] ?? null) !== null) fields[name] = row[name];
    const made = { line: row.line, record_id, fields };
    const here = known.get(record_id);
    if (!here) {
      found.new.push(made);
      if (occupied.has(centimetre(row.counter_m))) found.places += 1;
    } else if (here.removed) {
      found.removed.push(made);
    } else if (
      FIELDS.every((name) => alike(here.fields[name] ?? null, row[name])) &&
      sameRaw(here.fields, row)
    ) {
      found.same += 1;
    } else {
      found.other.push(made);
    }
  }
  const lines = new Set(taken.map((row) => row.line));
  for (const { id, removed } of standing) {
    const line = removed ? null : lineOf(id, fileSha256, runId);
    if (line !== null && !lines.has(line))
      found.gone.push({ line, record_id: id, fields: { removed: true } });
  }
  found.gone.sort((a, b) => a.line - b.line);
  found.otherwise = found.other.length + found.gone.length > found.same;
  return found;
}

/**
 * Whether the counter of the file is the same; one taken before it was kept has none.
 * @param {ReadingFields} fields
 * @param {CsvReading} row
 * @returns {boolean}
 */
function sameRaw(fields, row) {
  return (
    (fields.counter_typed ?? null) === null ||
    RAW.every((name) => (fields[name] ?? null) === (row[name] ?? null))
  );
}

/**
 * The line of the file that a reading was made from; null if it was not.
 * @param {string} id
 * @param {string} fileSha256
 * @param {string} runId
 * @returns {number | null}
 */
function lineOf(id, fileSha256, runId) {
  const text = id.slice(24, 30);
  if (!/^[0-9a-f]{6}$/.test(text)) return null;
  const line = Number.parseInt(text, 16);
  return readingId(fileSha256, runId, line) === id ? line : null;
}

/** @param {number} counterM @returns {number} */
function centimetre(counterM) {
  return Math.floor(counterM * 100 + 0.5);
}

/** @template T @param {T} a @param {T} b @returns {boolean} */
function alike(a, b) {
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return a === b;
  const names = Object.keys(a);
  return (
    names.length === Object.keys(b).length &&
    names.every((name) => name in b && a[/** @type {keyof T} */ (name)] === b[/** @type {keyof T} */ (name)])
  );
}
