/** A CSV file of readings on its way into a run: read, shown, then all of it or nothing. */
import { sha256Hex } from '../store/photo_rows.js';
import { csvSentence } from '../survey/csv_columns.js';
import { decodeText, splitTable } from '../survey/csv_table.js';
import { SurveyError } from '../survey/errors.js';
import { readReadings } from '../survey/readings_csv.js';
import { besideStanding } from '../survey/readings_taken.js';
import { t } from '../text/en.js';

/** @typedef {import('../survey/readings_csv.js').CsvChoices} CsvChoices */
/** @typedef {import('../survey/readings_taken.js').MadeReading} MadeReading */
/** @typedef {{name: string, sha256: string, charset: string, table: import('../survey/csv_table.js').CsvTable}} ReadingsFile */

const MOST_BYTES = 5_000_000;

/** Reads what was chosen; what cannot be used is an Error with a sentence. @param {any} app @param {File} file @returns {Promise<ReadingsFile>} */
export async function openReadings(app, file) {
  if (file.size > MOST_BYTES) throw new Error(sentenceOf(app, new SurveyError('csv_too_large', 'bytes')));
  let bytes;
  try {
    bytes = new Uint8Array(await file.arrayBuffer());
  } catch (cause) {
    throw new Error(t('csv.unreadable'), { cause });
  }
  return saying(app, async () => {
    const { text, charset } = decodeText(bytes);
    return { name: file.name, sha256: await sha256Hex(bytes), charset, table: splitTable(text, '') };
  });
}

/** @param {any} app @param {ReadingsFile} file @param {CsvChoices} choices */
export function readFile(app, file, choices) {
  return readReadings(file.table, app.tables.readings_csv, choices);
}

/** @param {any} view @param {string} runId @param {ReadingsFile} file @param {import('../survey/readings_csv.js').CsvReading[]} taken */
export function beside(view, runId, file, taken) {
  const standing = [...view.records('reading'), ...view.removed('reading')].filter((/** @type {any} */ one) => one.fields.run_id === runId);
  return besideStanding(taken, file.sha256, runId, standing);
}

/**
 * Make the readings in one transaction. @param {any} app @param {string} jobId @param {any} view @param {MadeReading[]} rows
 * @returns {Promise<string[]>} ids of those made
 */
export async function makeReadings(app, jobId, view, rows) {
  const changes = rows.map(({ record_id, fields }) => {
    const here = view.record('reading', record_id);
    const changed = here ? view.changed('reading', record_id, { remark: null, ...fields }) : fields;
    return { kind: 'reading', record_id, fields: here?.removed ? { ...changed, removed: false } : changed };
  });
  await app.store.addEntries(jobId, changes);
  return rows.map((row) => row.record_id);
}

/** @param {any} app @param {string} jobId @param {string[]} ids */
export async function unmake(app, jobId, ids) {
  await app.store.addEntries(jobId, ids.map((record_id) => ({ kind: 'reading', record_id, fields: { removed: true } })));
}

/** @param {any} app @param {{code: string, values: Object<string, any>}} row @returns {string} */
export function lineSentence(app, row) {
  return csvSentence(app.tables.readings_csv, row.code, row.values);
}

/** @param {any} app @param {SurveyError} error @returns {string} */
function sentenceOf(app, error) {
  return csvSentence(app.tables.readings_csv, error.code, { kind: error.field });
}

/** @template T @param {any} app @param {() => Promise<T>} work @returns {Promise<T>} */
async function saying(app, work) {
  try {
    return await work();
  } catch (error) {
    if (error instanceof SurveyError) throw new Error(sentenceOf(app, error), { cause: error });
    throw error;
  }
}

/** What a file without a row says. @param {any} app @param {unknown} error @returns {string} */
export function faultSentence(app, error) {
  if (error instanceof SurveyError) return sentenceOf(app, error);
  return error instanceof Error ? error.message : String(error);
}
