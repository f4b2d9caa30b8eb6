/**
 * A hand-over file of another phone: the same records under the same names, so that nothing is there twice
 * when both arrive.
 */
import { entryId } from '../records/fold.js';
import { isName } from '../records/names.js';
import { sha256Hex } from '../store/photo_rows.js';
import { openZip, ZipError } from './unzip_file.js';
import { t } from '../text/words.js';

/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').Entry} Entry */
/** @typedef {import('../store/job_view.js').Aside} Aside */
/**
 * A job as a file has it: nothing of it is sure before `checked`.
 * @typedef {{format?: unknown, version?: unknown, job_id?: unknown, entries?: unknown, aside?: any,
 *   photos?: any}} JobRead
 */

/**
 * @typedef {{job_id: string, title: string, entries_new: number, entries_here: number, photos_new: number,
 *   photos_here: number, photos_missing: number, differing: number}} Taken
 */

/**
 * @typedef {{names: string[], read: (name: string, most: number) => Promise<Uint8Array<ArrayBuffer>>}}
 *   Archive
 */

const [JOB, PHONE] = ['job.json', 'phone.json'];
const MAX_JOB_BYTES = 200_000_000;
const MAX_PHOTO_BYTES = 200_000_000;
const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;
const SHA256 = /^[0-9a-f]{64}$/;

/**
 * Takes a file: all entries of a job or none.
 * @param {App} app
 * @param {Blob} file
 * @returns {Promise<Taken[]>} a job each; rejects with a sentence
 */
export async function takeHandOver(app, file) {
  const archive = await saying(() => openZip(file));
  const name = [PHONE, JOB].find((one) => archive.names.includes(one));
  if (!name) throw new Error(t('handover.not_one'));
  const value = parsed(await saying(() => archive.read(name, MAX_JOB_BYTES)));
  const taken = [];
  for (const job of name === PHONE ? jobsOfPhone(value) : [value])
    taken.push(await takeJob(app, archive, checked(job)));
  return taken;
}

/**
 * @param {App} app
 * @param {Archive} archive
 * @param {ReturnType<typeof checked>} job
 * @returns {Promise<Taken>}
 */
async function takeJob(app, archive, job) {
  if ((await app.store.away()).some(({ job_id }) => job_id === job.job_id))
    await app.store.follow(job.job_id); // it was put away, and comes back with the file
  const photos = await takePhotos(app, archive, job.photos);
  const view = await app.store.job(job.job_id);
  const differing = job.entries.filter((entry) => {
    const here = view.entry(entryId(entry));
    return here && !sameEntry(here, entry) && !here.erased && !entry.erased;
  }).length;
  const fresh = await app.store.take(job.job_id, job.entries, job.aside);
  const now = await app.store.job(job.job_id);
  return {
    job_id: job.job_id,
    title: now.job?.fields.title ?? t('jobs.untitled'),
    entries_new: fresh,
    entries_here: job.entries.length - fresh - differing,
    differing,
    ...photos
  };
}

/**
 * Everything that a phone held whose app did not open (save_all.js), as a job file each.
 * @param {any} value as it was read
 * @returns {JobRead[]} what may be jobs
 */
function jobsOfPhone(value) {
  if (value?.format !== 'fallbook-phone') throw new Error(t('handover.not_one'));
  if (value.version !== 1) throw new Error(t('handover.newer'));
  const rows = (/** @type {string} */ store) =>
    (value.stores?.[store] ?? []).map((/** @type {any} */ row) => row?.[1]).filter(plain);
  /** @type {Map<string, JobRead & {entries: Entry[]}>} */
  const jobs = new Map();
  for (const entry of rows('entries')) {
    const job = jobs.get(entry.job_id) ?? {
      format: 'fallbook-job',
      version: 1,
      job_id: entry.job_id,
      entries: /** @type {Entry[]} */ ([]),
      aside: {},
      photos: []
    };
    job.entries.push(entry);
    jobs.set(entry.job_id, job);
  }
  for (const { job_id, code, reasons, ...key } of rows('aside')) {
    const job = jobs.get(job_id);
    if (job) job.aside[entryId(/** @type {Entry} */ (key))] = { code, reasons: reasons ?? {} };
  }
  for (const job of jobs.values()) {
    const named = new Set(job.entries.map((/** @type {Entry} */ entry) => entry.fields?.sha256));
    job.photos = (value.photos ?? []).filter((/** @type {any} */ one) => named.has(one?.sha256));
  }
  if (jobs.size === 0) throw new Error(t('handover.no_entries'));
  return [...jobs.values()];
}

/** @param {Entry} here @param {Entry} there @returns {boolean} */
function sameEntry(here, there) {
  return (
    here.record_id === there.record_id &&
    here.kind === there.kind &&
    here.recorded_at === there.recorded_at &&
    JSON.stringify(here.fields) === JSON.stringify(there.fields)
  );
}

/** @template T @param {() => Promise<T>} work @returns {Promise<T>} */
async function saying(work) {
  try {
    return await work();
  } catch (cause) {
    throw new Error(t(cause instanceof ZipError ? 'handover.damaged' : 'csv.unreadable'), { cause });
  }
}

/** @param {Uint8Array} bytes @returns {any} */
function parsed(bytes) {
  try {
    return JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch (cause) {
    throw new Error(t('handover.damaged'), { cause });
  }
}

/**
 * The rules of webapp/records/job_file.py that a fold depends on.
 * @param {JobRead | undefined} job as it was read
 */
function checked(job) {
  if (job?.format !== 'fallbook-job') throw new Error(t('handover.not_one'));
  if (job.version !== 1) throw new Error(t('handover.newer'));
  if (!Array.isArray(job.entries) || job.entries.length === 0) throw new Error(t('handover.no_entries'));
  /** @type {{job_id: string, entries: Entry[]}} */
  const { job_id, entries } = /** @type {any} */ (job);
  /** @type {Object<string, Aside> | null} */
  const aside = plain(job.aside ?? {}) ? (job.aside ?? {}) : null;
  /** @type {Array<{sha256: string, media_type: string}>} */
  const photos = job.photos ?? [];
  const sound =
    UUID.test(job_id) &&
    aside !== null &&
    Object.values(aside).every((one) => typeof one?.code === 'string') &&
    entries.every((entry) => isEntry(entry, job_id, aside)) &&
    Array.isArray(photos) &&
    photos.every((one) => SHA256.test(one?.sha256) && typeof one.media_type === 'string');
  if (!sound) throw new Error(t('handover.damaged'));
  entries.sort((a, b) => (a.writer === b.writer ? a.number - b.number : a.writer < b.writer ? -1 : 1));
  /** @type {Map<string, number>} */
  const heads = new Map();
  for (const { writer, number } of entries) {
    if (number !== (heads.get(writer) ?? 0) + 1) throw new Error(t('handover.damaged'));
    heads.set(writer, number);
  }
  const known = new Set(entries.map(entryId));
  for (const id of Object.keys(aside)) if (!known.has(id)) throw new Error(t('handover.damaged'));
  return { job_id, entries, aside, photos };
}

/** @param {unknown} value @returns {boolean} */
function plain(value) {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** @param {any} entry @param {unknown} jobId @param {object} aside @returns {boolean} */
function isEntry(entry, jobId, aside) {
  const named =
    plain(entry) &&
    entry.job_id === jobId &&
    isName(entry.writer) &&
    entry.writer.length >= 8 &&
    Number.isSafeInteger(entry.number) &&
    entry.number > 0;
  if (!named || entryId(entry) in aside) return named;
  const seen = entry.seen ?? {};
  return (
    typeof entry.kind === 'string' &&
    UUID.test(entry.record_id) &&
    plain(entry.fields) &&
    Object.keys(entry.fields).every(isName) &&
    typeof entry.recorded_at === 'string' &&
    plain(seen) &&
    Object.values(seen).every((list) => Array.isArray(list) && list.every((id) => typeof id === 'string'))
  );
}

/**
 * Pictures come first: an entry whose picture is not there yet is no loss, the other way round nobody would
 * look for it.
 * @param {App} app
 * @param {Archive} archive
 * @param {Array<{sha256: string, media_type: string}>} photos
 */
async function takePhotos(app, archive, photos) {
  const count = { photos_new: 0, photos_here: 0, photos_missing: 0 };
  const byHash = new Map(
    archive.names.filter((name) => name.startsWith('photos/')).map((name) => [name.slice(7, 71), name])
  );
  for (const { sha256, media_type } of photos) {
    const name = byHash.get(sha256);
    if (await app.store.hasPhoto(sha256)) {
      count.photos_here += 1;
    } else if (!name) {
      count.photos_missing += 1;
    } else {
      const bytes = await saying(() => archive.read(name, MAX_PHOTO_BYTES));
      if ((await sha256Hex(bytes)) !== sha256) throw new Error(t('handover.damaged'));
      await app.store.keepPhoto({
        sha256,
        media_type,
        size_bytes: bytes.length,
        bytes: bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length)
      });
      count.photos_new += 1;
    }
  }
  return count;
}
