/** The way out with no server and even with a full disk: the job as a file. */
import { CODE, standing } from '../records/erasure.js';
import { entryId } from '../records/fold.js';
import { photoFileName } from '../save_all/photo_name.js';
import { crcOf, Zip } from '../save_all/plain_zip.js';
import { t } from '../text/words.js';
import { day } from '../ui/format.js';

/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').JobView} JobView */
/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../store/photos_here.js').PhotoWanted} PhotoWanted */
/**
 * A record as it stands in a job file.
 * @typedef {Pick<SurveyRecord, 'kind' | 'id' | 'fields'> & {removed?: true, conflicts?:
 *   SurveyRecord['conflicts']}} FileRecord
 */

const MAX_BYTES = 4_000_000_000;
const MAX_FILES = 25_000;
/** @type {import('../records/types.js').Kind[]} */
const KINDS = [
  'job',
  'node',
  'run',
  'stretch',
  'reading',
  'observation',
  'level_tie',
  'check',
  'photo',
  'remark'
];

/** @typedef {{file: File, entries: number, photos: number, missing: number}} HandOver */

/** The job file of webapp/records/README.md, with its entries. @param {JobView} view */
export function jobFile(view) {
  const records = KINDS.flatMap((kind) => [...view.records(kind), ...view.removed(kind)]);
  records.sort((a, b) => (`${a.kind}/${a.id}` < `${b.kind}/${b.id}` ? -1 : 1));
  /** @type {Object<string, import('../store/job_view.js').Aside>} */
  const aside = {};
  for (const [id, { code, reasons }] of view.aside ?? [])
    aside[id] = { code, reasons: code === CODE ? erasedReasons(view, id, reasons) : reasons };
  const entries = view.handedOver?.() ?? [];
  entries.sort((a, b) => (a.writer === b.writer ? a.number - b.number : entryId(a) < entryId(b) ? -1 : 1));
  return {
    format: 'fallbook-job',
    version: 1,
    job_id: view.jobId,
    records: records.map(fileRecord),
    entries,
    aside,
    photos: photosOf(view).map(({ sha256, size_bytes, media_type }) => ({ sha256, size_bytes, media_type }))
  };
}

/** Why the office took an entry away, in the words that its server has for it.
 * @param {JobView} view @param {string} id @param {Object<string, string[]>} reasons */
function erasedReasons(view, id, reasons) {
  const at = id.lastIndexOf(':');
  const act = standing(view.acts, { writer: id.slice(0, at), number: Number(id.slice(at + 1)) });
  if (!act) return reasons;
  return { entry: [t('erasure.entry', { day: day(act.at.slice(0, 10)), reason: act.reason })] };
}

/** Of every picture that a record names, removed ones too, once. @param {JobView} view */
function photosOf(view) {
  /** @type {Map<string, PhotoWanted>} */
  const photos = new Map();
  for (const { fields } of [...view.records('photo'), ...view.removed('photo')])
    photos.set(/** @type {string} */ (fields.sha256), /** @type {PhotoWanted} */ (fields));
  return [...photos.values()].sort((a, b) => (a.sha256 < b.sha256 ? -1 : 1));
}

/** @param {SurveyRecord} record */
function fileRecord({ kind, id, fields, removed, conflicts }) {
  /** @type {FileRecord} */
  const out = { kind, id, fields };
  if (removed) out.removed = true;
  if (Object.keys(conflicts).length) out.conflicts = conflicts;
  return out;
}

/**
 * A job with its pictures, or what was typed and could not be saved, as one file.
 * @param {App} app
 * @param {string | null} jobId
 * @param {unknown} [typed]
 * @param {(done: number, total: number) => void} [progress] how far
 * @returns {Promise<HandOver>}
 */
export async function handOver(app, jobId, typed, progress = () => {}) {
  const archive = new Zip();
  const view = jobId ? await app.store.job(jobId) : null;
  const made = { entries: 0, photos: 0, missing: 0 };
  try {
    if (view?.byWriter.size) {
      const whole = jobFile(view);
      made.entries = whole.entries.length;
      add(archive, 'job.json', utf8(whole));
      for (const [index, { sha256, media_type }] of photosOf(view).entries()) {
        const row = await app.store.photo(sha256);
        if (row) add(archive, photoFileName(sha256, media_type), new Uint8Array(row.bytes));
        made[row ? 'photos' : 'missing'] += 1;
        progress(index + 1, whole.photos.length);
      }
    }
    if (typed !== undefined) add(archive, 'not-saved.json', utf8(typed));
  } catch (error) {
    if (error instanceof RangeError) throw new Error(t('handover.too_large'), { cause: error });
    throw error;
  }
  const name = `${plainName(view?.job?.fields.title ?? 'fallbook')}.fallbook.zip`;
  return { ...made, file: new File([archive.end()], name, { type: 'application/zip' }) };
}

/**
 * RangeError where the server, and others who read zips, would not take the file.
 * @param {Zip} archive
 * @param {string} name in ASCII
 * @param {Uint8Array<ArrayBuffer>} bytes
 */
function add(archive, name, bytes) {
  if (archive.size + 30 + name.length + bytes.length > MAX_BYTES || archive.files >= MAX_FILES)
    throw new RangeError('zip');
  archive.add(name, new Blob([bytes]), crcOf(bytes));
}

/**
 * Writes it to the phone's downloads.
 * @param {App} app
 * @param {string | null} jobId
 * @param {unknown} [typed]
 * @returns {Promise<string>} the file's name
 */
export async function saveToFile(app, jobId, typed) {
  const { file } = await handOver(app, jobId, typed);
  download(file, file.name);
  return file.name;
}

/** @param {unknown} value @returns {Uint8Array<ArrayBuffer>} */
function utf8(value) {
  return /** @type {Uint8Array<ArrayBuffer>} */ (new TextEncoder().encode(JSON.stringify(value)));
}

/** @param {string} title @returns {string} */
function plainName(title) {
  const plain = title
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .toLowerCase();
  return plain.slice(0, 60) || 'job';
}

/** @param {Blob} blob @param {string} name */
export function download(blob, name) {
  const url = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}
