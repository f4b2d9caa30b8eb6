/** Which photos of a job are on this phone, and which only on the server or on another phone. */

/** @typedef {{sha256: string, size_bytes: number, media_type: string}} PhotoWanted */
/**
 * Each picture counts once, however many records show it; those of removed records do not count.
 * @typedef {{total: number, here: number, missing: PhotoWanted[], missing_bytes: number, absent: number}}
 *   PhotosHere
 * `missing`: to be had from the server; `absent`: not on the server either, as far as it has said
 */

const HASH = /^[0-9a-f]{64}$/;

/**
 * @param {import('./job_store.js').JobStore} store
 * @param {string} jobId
 * @param {Set<unknown>} [here] hashes of what is here
 * @returns {Promise<PhotosHere>}
 */
export async function photosHere(store, jobId, here) {
  const held = here ?? (await store.photosHeld());
  /** @type {PhotosHere} */
  const found = { total: 0, here: 0, missing: [], missing_bytes: 0, absent: 0 };
  const seen = new Set();
  const photos = (await store.job(jobId)).records('photo');
  if (photos.length === 0) return found;
  const lacking = await store.wantedPhotos();
  for (const { fields } of photos) {
    const { sha256, size_bytes, media_type } = /** @type {PhotoWanted} */ (fields);
    if (seen.has(sha256) || !HASH.test(sha256)) continue;
    seen.add(sha256);
    found.total += 1;
    if (held.has(sha256)) {
      found.here += 1;
    } else if (lacking.has(sha256)) {
      found.absent += 1;
    } else {
      found.missing.push({
        sha256,
        size_bytes: Number(size_bytes) || 0,
        media_type: String(media_type ?? 'application/octet-stream')
      });
      found.missing_bytes += Number(size_bytes) || 0;
    }
  }
  return found;
}
