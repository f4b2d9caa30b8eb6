/** A CSV file of readings on its way into a run: read, shown, then all of it or nothing. */
import { sha256Hex } from '../store/photo_rows.js';
import { csvSentence, findColumns } from '../survey/readings_file/csv_columns.js';
import { answersOf, headerSignature } from '../survey/readings_file/csv_profile.js';
import { decodeText, splitTable } from '../survey/readings_file/csv_table.js';
import { SurveyError } from '../survey/errors.js';
import { readReadings } from '../survey/readings_file/readings_csv.js';
import { besideStanding } from '../survey/readings_file/readings_taken.js';
import { t } from '../text/words.js';
import { errorWords } from '../ui/error_words.js';

/** @typedef {import('../survey/readings_file/readings_csv.js').CsvChoices} CsvChoices */
/** @typedef {import('../survey/readings_file/readings_taken.js').MadeReading} MadeReading */
/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../records/types.js').ReadingFields} ReadingFields */
/** @typedef {import('../survey/readings_file/csv_columns.js').CsvValues} CsvValues */
/** @typedef {import('../survey/readings_file/csv_profile.js').CsvAnswers} CsvAnswers */
/** @typedef {import('../ui/types.js').Change} Change */
/** @typedef {import('../ui/types.js').JobView} JobView */
/**
 * @typedef {{name: string, sha256: string, charset: string, text: string, table:
 *   import('../survey/readings_file/csv_table.js').CsvTable}} ReadingsFile
 */

const MAX_BYTES = 5_000_000;
const PROFILES = 'readings_profiles';
const MAX_PROFILES = 50;

/**
 * Reads what was chosen; what cannot be used is an Error with a sentence.
 * @param {App} app
 * @param {File} file
 * @returns {Promise<ReadingsFile>}
 */
export async function openReadings(app, file) {
  if (file.size > MAX_BYTES) throw new Error(sentenceOf(app, new SurveyError('csv_too_large', 'bytes')));
  let bytes;
  try {
    bytes = new Uint8Array(await file.arrayBuffer());
  } catch (cause) {
    throw new Error(t('csv.unreadable'), { cause });
  }
  return saying(app, async () => {
    const { text, charset } = decodeText(bytes);
    return { name: file.name, sha256: await sha256Hex(bytes), charset, text, table: splitTable(text, '') };
  });
}

/**
 * The same file with another sign between its cells.
 * @param {App} app
 * @param {ReadingsFile} file
 * @param {string} separator
 * @returns {Promise<ReadingsFile>}
 */
export function parted(app, file, separator) {
  return saying(app, async () => ({ ...file, table: splitTable(file.text, separator) }));
}

/** Its column names and its first rows of data. @param {App} app @param {ReadingsFile} file */
export function namesOf(app, file) {
  const { header, header_line, first } = findColumns(file.table.rows, app.tables.readings_csv);
  return { header, header_line, rows: file.table.rows.slice(first, first + 5).map((row) => row.cells) };
}

/** @param {App} app @param {ReadingsFile} file @param {CsvChoices} choices */
export function readFile(app, file, choices) {
  return readReadings(file.table, app.tables.readings_csv, choices);
}

/**
 * @param {JobView} view
 * @param {string} runId
 * @param {ReadingsFile} file
 * @param {import('../survey/readings_file/readings_csv.js').CsvReading[]} taken
 */
export function beside(view, runId, file, taken) {
  const standing = [...view.records('reading'), ...view.removed('reading')].filter(
    (one) => one.fields.run_id === runId
  );
  return besideStanding(taken, file.sha256, runId, standing);
}

/**
 * Make the readings in one transaction.
 * @param {App} app
 * @param {string} jobId
 * @param {JobView} view
 * @param {MadeReading[]} rows
 * @returns {Promise<Change[]>} what would put
 *   things back as they were
 */
export async function makeReadings(app, jobId, view, rows) {
  /** @type {Change[]} */
  const back = [];
  /** @type {Change[]} */
  const changes = [];
  for (const { record_id, fields } of rows) {
    const here = view.record('reading', record_id);
    let changed = fields;
    if (here && !fields.removed) changed = view.changed('reading', record_id, { remark: null, ...fields });
    if (here?.removed) changed = { ...changed, removed: false };
    changes.push({ kind: 'reading', record_id, fields: changed });
    back.push({ kind: 'reading', record_id, fields: before(here, changed) });
  }
  await app.store.addEntries(jobId, changes);
  return back;
}

/**
 * The fields as they stood; of what was not there, its removal.
 * @param {import('../ui/types.js').RecordOf<'reading'> | undefined} here
 * @param {ReadingFields} changed
 * @returns {ReadingFields}
 */
function before(here, changed) {
  if (!here || here.removed) return { removed: true };
  if (changed.removed) return { removed: false };
  return Object.fromEntries(
    Object.keys(changed).map((name) => [name, here.fields[/** @type {keyof ReadingFields} */ (name)] ?? null])
  );
}

/**
 * @param {App} app
 * @param {string} jobId
 * @param {Change[]} back
 */
export async function unmake(app, jobId, back) {
  await app.store.addEntries(jobId, back);
}

/**
 * What was said of earlier files, by the names of their columns.
 * @param {App} app
 * @returns {Promise<Object<string, CsvAnswers>>}
 */
async function profiles(app) {
  return (await app.store.setting(PROFILES)) ?? {};
}

/**
 * @param {App} app
 * @param {{header: string[], header_line: number}} names
 * @returns {Promise<CsvAnswers | null>}
 */
export async function remembered(app, { header, header_line }) {
  const signature = headerSignature(header, header_line);
  return (signature && (await profiles(app))[signature]) || null;
}

/**
 * Keep what was said for the next file with these columns.
 * @param {App} app
 * @param {import('../survey/readings_file/readings_csv.js').CsvResult} result
 */
export async function remember(app, result) {
  if (!Object.entries(result.known).some(([name, how]) => how === 'chosen' && name !== 'zero_m')) return;
  await keep(app, result, answersOf(result));
}

/**
 * Put away, or with null take away, the answers for files with these columns.
 * @param {App} app
 * @param {{header: string[], header_line: number}} names
 * @param {CsvAnswers | null} answers
 */
export async function keep(app, { header, header_line }, answers) {
  const signature = headerSignature(header, header_line);
  if (!signature) return;
  const rows = Object.entries(await profiles(app)).filter(([name]) => name !== signature);
  if (answers) rows.push([signature, answers]);
  await app.store.setSetting(PROFILES, Object.fromEntries(rows.slice(-MAX_PROFILES)));
}

/** @param {App} app @param {{code: string, values: CsvValues}} row @returns {string} */
export function lineSentence(app, row) {
  return csvSentence(app.tables.readings_csv, row.code, row.values);
}

/** @param {App} app @param {SurveyError} error @returns {string} */
function sentenceOf(app, error) {
  return csvSentence(app.tables.readings_csv, error.code, { kind: error.field });
}

/** @template T @param {App} app @param {() => Promise<T>} work @returns {Promise<T>} */
async function saying(app, work) {
  try {
    return await work();
  } catch (error) {
    if (error instanceof SurveyError) throw new Error(sentenceOf(app, error), { cause: error });
    throw error;
  }
}

/** What a file without a row says. @param {App} app @param {unknown} error @returns {string} */
export function faultSentence(app, error) {
  if (error instanceof SurveyError) return sentenceOf(app, error);
  return errorWords(error);
}
