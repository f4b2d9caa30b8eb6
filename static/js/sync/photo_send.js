/** One photo in pieces, from where the last attempt stopped; or several small ones whole, in one request. */

import { SyncError } from './transport.js';

const MISSTEPS = 5;

/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {import('./backoff.js').PieceSize} PieceSize */
/** @typedef {import('../store/photo_rows.js').PhotoRow} PhotoRow */

/**
 * @param {Transport} transport
 * @param {PhotoRow} photo
 * @param {PieceSize} size
 * @param {(bytes: number) => void} sent
 * @param {number} [from] where it goes on, if the server has said so
 * @returns {Promise<void>}
 */
export async function sendPhoto(transport, { sha256, media_type, size_bytes, bytes }, size, sent, from) {
  // What goes in one piece begins at once: if part of it is there after all, the answer says where to go on.
  const atOnce = from !== undefined || (size.untroubled && size_bytes <= size.size);
  let { offset, complete } = atOnce
    ? { offset: from ?? 0, complete: false }
    : await transport.photoOffset(sha256);
  offset = within(offset, size_bytes);
  let missteps = 0;
  while (!complete) {
    const piece = new Uint8Array(bytes, offset, Math.min(size.size, size_bytes - offset));
    const part = { offset, total: size_bytes, mediaType: media_type, piece };
    try {
      const answer = await transport.photoPiece(sha256, part);
      size.grow();
      sent(piece.length);
      if (!answer.complete && answer.offset <= offset) missteps += 1;
      ({ offset, complete } = answer);
    } catch (error) {
      if (!(error instanceof SyncError)) throw error;
      missteps += 1;
      if (error.code === 'offline') size.shrink(); // the next attempt asks less of the link
      if (error.code === 'photo_offset_mismatch')
        offset = within(/** @type {{offset?: unknown} | undefined} */ (error.body)?.offset, size_bytes);
      else if (error.code === 'photo_hash_mismatch' && missteps === 1)
        offset = 0; // the server threw the pieces away
      else throw error;
    }
    if (missteps > MISSTEPS) throw new SyncError('no_progress');
  }
}

/**
 * Send photos whole, one behind the other.
 * @param {Transport} transport
 * @param {PhotoRow[]} photos
 * @param {PieceSize} size
 * @returns {Promise<Map<string, number>>} those that are not whole on the server after all, and from where
 *   each goes on
 */
export async function sendTogether(transport, photos, size) {
  /** @type {Map<string, {offset: number, complete: boolean}>} */
  const answers = new Map();
  try {
    for (const one of await transport.photosTogether(photos)) answers.set(one.sha256, one);
  } catch (error) {
    // Whatever it met, the next run does not meet it again: it sends them one by one.
    if (error instanceof SyncError && (error.code === 'offline' || error.status >= 500)) size.shrink();
    throw error;
  }
  size.grow();
  const left = photos.filter(({ sha256 }) => answers.get(sha256)?.complete !== true);
  return new Map(
    left.map(({ sha256, size_bytes }) => [sha256, within(answers.get(sha256)?.offset, size_bytes)])
  );
}

/**
 * Where to go on, as the server says, if the photo has such a byte.
 * @param {unknown} reported
 * @param {number} size_bytes
 * @returns {number}
 */
function within(reported, size_bytes) {
  const offset = Number(reported);
  return offset > 0 && offset <= size_bytes ? offset : 0;
}
