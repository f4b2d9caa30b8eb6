/**
 * A photo on its way from the server: its pieces as they come, so that a cut loses nothing; whole and right,
 * it is kept.
 */

import { awayOr, onlyIfHere } from './away_rows.js';
import { previewKey } from './photo_previews.js';

/** @typedef {import('./db.js').Database} Database */
/** @typedef {import('./photo_rows.js').PhotoRow} PhotoRow */
/** @typedef {{sha256: string, offset: number, bytes: ArrayBuffer}} Part */

/** @param {string} sha256 @returns {IDBKeyRange} */
function partsOf(sha256) {
  return IDBKeyRange.bound([sha256], [sha256, []]);
}

/**
 * The pieces that follow each other from the first byte on.
 * @param {Database} db
 * @param {string} sha256
 * @returns {Promise<Part[]>}
 */
export async function readParts(db, sha256) {
  /** @type {Part[]} */
  const found = [];
  let end = 0;
  for (const part of await db.all('photo_parts', partsOf(sha256))) {
    if (part.offset !== end) break;
    found.push(part);
    end += part.bytes.byteLength;
  }
  return found;
}

/** @param {Part[]} parts @returns {number} bytes */
export function lengthOf(parts) {
  return parts.reduce((sum, part) => sum + part.bytes.byteLength, 0);
}

/** @param {Part[]} parts @returns {ArrayBuffer} */
export function joined(parts) {
  const whole = new Uint8Array(lengthOf(parts));
  for (const part of parts) whole.set(new Uint8Array(part.bytes), part.offset);
  return whole.buffer;
}

/**
 * The photo is here, and its pieces are not needed any more: both or neither. A job that has been put away
 * meanwhile gets none.
 * @param {Database} db
 * @param {string} jobId
 * @param {PhotoRow} row
 * @returns {Promise<void>}
 */
export async function keepWhole(db, jobId, row) {
  await db
    .run(['photos', 'photo_parts', 'meta', 'away'], 'readwrite', (tx) => {
      onlyIfHere(tx, jobId);
      tx.objectStore('meta').delete(previewKey(row.sha256));
      tx.objectStore('photos').put(row);
      tx.objectStore('photo_parts').delete(partsOf(row.sha256));
    })
    .catch(async (error) => {
      throw await awayOr(db, jobId, error);
    });
}

/** The same within what else is written. @param {IDBTransaction} tx @param {string} sha256 */
export function dropPartsIn(tx, sha256) {
  tx.objectStore('photo_parts').delete(partsOf(sha256));
}

/**
 * Pieces that do not make the photo they were fetched for.
 * @param {Database} db
 * @param {string} sha256
 * @returns {Promise<void>}
 */
export function dropParts(db, sha256) {
  return db.run(['photo_parts'], 'readwrite', (tx) => {
    dropPartsIn(tx, sha256);
  });
}
