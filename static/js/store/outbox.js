/** What is on this phone and not on the server, computed from the server's last answer. */

import { entryId } from '../records/fold.js';

/** @typedef {import('./job_view.js').Entry} Entry */
/**
 * @typedef {{entry: Entry, state: 'unsent' | 'set_aside', code?: string, reasons?: Object<string, string[]>}}
 *   OutboxEntry
 */
/**
 * @typedef {{sha256: string, size_bytes: number, media_type: string, record_id: string, job_id: string}}
 *   OutboxPhoto
 */
/** @typedef {import('./photos_here.js').PhotoWanted} PhotoWanted */
/**
 * @typedef {{entries: OutboxEntry[], photos: OutboxPhoto[], counts: {entries: number, photos: number, aside:
 *   number}}} Outbox
 */

/** @param {import('./store.js').Store} store @param {string[]} jobIds @returns {Promise<Outbox>} */
export async function outboxOf(store, jobIds) {
  /** @type {Outbox} */
  const out = { entries: [], photos: [], counts: { entries: 0, photos: 0, aside: 0 } };
  const here = await store.photosHeld();
  const wanted = await store.wantedPhotos();
  for (const jobId of jobIds) {
    const view = await store.job(jobId);
    const unsent = view.entriesBeyond(await store.serverVector(jobId));
    for (const entry of unsent) out.entries.push({ entry, state: 'unsent' });
    out.counts.entries += unsent.length;
    for (const { code, reasons, dismissed, ...key } of view.aside.values()) {
      const entry = view.entry(entryId(key));
      if (dismissed || !entry) continue;
      out.entries.push({ entry, state: 'set_aside', code, reasons });
      out.counts.aside += 1;
    }
    // The server has not asked for a photo whose record it does not know yet.
    const unknown = new Set(unsent.filter((entry) => entry.kind === 'photo').map((entry) => entry.record_id));
    for (const { id, fields } of view.records('photo')) {
      const { sha256, size_bytes, media_type } = /** @type {PhotoWanted} */ (fields);
      if (!here.has(sha256) || !(wanted.has(sha256) || unknown.has(id))) continue;
      out.photos.push({ sha256, size_bytes, media_type, record_id: id, job_id: jobId });
    }
  }
  out.counts.photos = new Set(out.photos.map((photo) => photo.sha256)).size;
  return out;
}
