/** The way out with no server and even with a full disk: the job as a file. */
import { entryId } from '../sync/fold.js';
import { zip } from './zip_file.js';

/** @type {Object<string, string>} */
const ENDINGS = { 'image/jpeg': 'jpg', 'image/png': 'png', 'image/webp': 'webp', 'image/heic': 'heic', 'image/heif': 'heif', 'image/gif': 'gif', 'image/tiff': 'tif' };

/** The job file of DEVELOPERS.md, section 7, with its entries. @param {any} view */
export function jobFile(view) {
  const kinds = ['job', 'node', 'run', 'stretch', 'reading', 'observation', 'level_tie', 'check', 'photo', 'remark'];
  const records = kinds.flatMap((kind) => [...view.records(kind), ...view.removed(kind)]);
  records.sort((a, b) => (`${a.kind}/${a.id}` < `${b.kind}/${b.id}` ? -1 : 1));
  /** @type {Object<string, any>} */
  const aside = {};
  for (const [id, { code, reasons }] of view.aside ?? []) aside[id] = { code, reasons };
  /** @type {any[]} */
  const entries = [...(view.byWriter?.values() ?? [])].flat();
  entries.sort((a, b) => (a.writer === b.writer ? a.number - b.number : entryId(a) < entryId(b) ? -1 : 1));
  /** @type {Map<string, any>} */
  const photos = new Map();
  for (const { fields } of [...view.records('photo'), ...view.removed('photo')]) {
    photos.set(fields.sha256, { sha256: fields.sha256, size_bytes: fields.size_bytes, media_type: fields.media_type });
  }
  return {
    format: 'fallbook-job', version: 1, job_id: view.jobId,
    records: records.map(fileRecord), entries, aside,
    photos: [...photos.values()].sort((a, b) => (a.sha256 < b.sha256 ? -1 : 1)),
  };
}

/** @param {any} record */
function fileRecord({ kind, id, fields, removed, conflicts }) {
  /** @type {Object<string, any>} */
  const out = { kind, id, fields };
  if (removed) out.removed = true;
  if (Object.keys(conflicts).length) out.conflicts = conflicts;
  return out;
}

/** @param {string} sha256 @param {string} mediaType */
export function photoFileName(sha256, mediaType) {
  return `photos/${sha256}.${ENDINGS[mediaType] ?? 'bin'}`;
}

/**
 * Writes one job, or what was typed and could not be saved, to a file in the phone's downloads.
 * @param {any} app @param {string | null} jobId @param {any} [typed] @returns {Promise<string>} the file's name
 */
export async function saveToFile(app, jobId, typed) {
  /** @type {Array<{name: string, bytes: Uint8Array<ArrayBuffer>}>} */
  const files = [];
  const view = jobId ? await app.store.job(jobId) : null;
  if (view?.job) {
    files.push({ name: 'job.json', bytes: utf8(jobFile(view)) });
    for (const { fields } of view.records('photo')) {
      const row = await app.store.photo(fields.sha256);
      if (row) files.push({ name: photoFileName(fields.sha256, fields.media_type), bytes: new Uint8Array(row.bytes) });
    }
  }
  if (typed !== undefined) files.push({ name: 'not-saved.json', bytes: utf8(typed) });
  const name = `${plainName(view?.job?.fields.title ?? 'fallbook')}.fallbook.zip`;
  download(zip(files), name);
  return name;
}

/** @param {any} value @returns {Uint8Array<ArrayBuffer>} */
function utf8(value) {
  return /** @type {Uint8Array<ArrayBuffer>} */ (new TextEncoder().encode(JSON.stringify(value)));
}

/** @param {string} title @returns {string} */
function plainName(title) {
  const plain = title.normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-').replace(/^-+|-+$/g, '').toLowerCase();
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
