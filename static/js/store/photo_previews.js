/** The previews of photos that were let go: what is still seen of them with no signal. */

import { StoreError } from './errors.js';

/** @typedef {import('./db.js').Database} Database */
/** @typedef {{preview: ArrayBuffer, preview_type: string}} Preview */

/** @param {string} sha256 */
export function previewKey(sha256) {
  return `preview:${sha256}`;
}

/**
 * Let the bytes of a photo go and keep its preview. On a phone without one free byte the bytes go first, and
 * the preview is lost if there is no room for it even then.
 * @param {Database} db
 * @param {string} sha256
 * @returns {Promise<void>}
 */
export async function dropBytes(db, sha256) {
  const row = await db.get('photos', sha256);
  const preview = row?.preview && { preview: row.preview, preview_type: row.preview_type ?? 'image/jpeg' };
  try {
    await db.write(['photos', 'meta'], (tx) => {
      if (preview) tx.objectStore('meta').put(preview, previewKey(sha256));
      tx.objectStore('photos').delete(sha256);
    });
  } catch (error) {
    if (!isFull(error)) throw error;
    await db.delete('photos', sha256);
    await db.put('meta', preview, previewKey(sha256)).catch((again) => {
      if (!isFull(again)) throw again;
    });
  }
}

/** @param {unknown} error */
function isFull(error) {
  return error instanceof StoreError && error.code === 'storage_full';
}
