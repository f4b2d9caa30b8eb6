/** A photo: bytes by their SHA-256, and the fields of its record. */

import { StoreError } from './errors.js';

/** @typedef {import('../records/types.js').PhotoFields} PhotoFields */
/** @typedef {import('../records/types.js').FieldsByName} FieldsByName */

/**
 * @typedef {{sha256: string, media_type: string, size_bytes: number, bytes: ArrayBuffer, preview?:
 *   ArrayBuffer, preview_type?: string, width_px?: number, height_px?: number}} PhotoRow
 */
/**
 * @typedef {{bytes: ArrayBuffer, media_type: string, preview?: ArrayBuffer, preview_type?: string, width_px?:
 *   number, height_px?: number, focus_pct?: number, brightness_pct?: number, contrast_pct?: number,
 *   taken_at?: string, belongs_to?: string, run_id?: string, counter_m?: number, caption?: string,
 *   location_removed?: boolean}} NewPhoto
 */

/** @param {ArrayBuffer | Uint8Array<ArrayBuffer>} bytes @returns {Promise<string>} */
export async function sha256Hex(bytes) {
  if (!globalThis.crypto?.subtle) {
    throw new StoreError('storage_insecure');
  }
  const hash = await crypto.subtle.digest('SHA-256', bytes);
  return Array.from(new Uint8Array(hash), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** @param {NewPhoto} photo @returns {Promise<{row: PhotoRow, fields: PhotoFields}>} */
export async function photoRow(photo) {
  const { bytes, preview, preview_type, ...given } = photo;
  const sha256 = await sha256Hex(bytes);
  /** @type {FieldsByName} */
  const fields = { sha256, size_bytes: bytes.byteLength };
  for (const [name, value] of Object.entries(given))
    if (value !== undefined && value !== null) fields[name] = value;
  /** @type {PhotoRow} */
  const row = { sha256, media_type: photo.media_type, size_bytes: bytes.byteLength, bytes };
  if (preview) Object.assign(row, { preview, preview_type });
  if (photo.width_px) Object.assign(row, { width_px: photo.width_px, height_px: photo.height_px });
  return { row, fields };
}
