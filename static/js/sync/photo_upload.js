/** Photos to the server, in pieces, from where the last attempt stopped. */

import { SyncError } from './transport.js';

const MISSTEPS = 5;

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('./transport.js').Transport} Transport */

/**
 * Send every photo that the server wants and this phone has. One that the server refuses does not hold up the others.
 * @param {{store: Store, transport: Transport, piece: import('./backoff.js').PieceSize, counts: {photos: number, bytes: number},
 *   report: () => void}} tools
 * @returns {Promise<void>}
 */
export async function uploadPhotos({ store, transport, piece, counts, report }) {
  /** @type {SyncError | undefined} */
  let refused;
  for (const sha256 of await store.wantedPhotos()) {
    const photo = await store.photo(sha256);
    if (!photo) continue; // it is on somebody else's phone
    try {
      await uploadOne(transport, photo, piece, (bytes) => { counts.bytes += bytes; report(); });
    } catch (error) {
      if (!(error instanceof SyncError) || error.retry) throw error;
      refused ??= error;
      continue;
    }
    await store.setWantedPhotos((await store.wantedPhotos()).filter((one) => one !== sha256));
    counts.photos += 1;
    report();
  }
  if (refused) throw refused;
}

/**
 * @param {Transport} transport @param {import('../store/photo_rows.js').PhotoRow} photo
 * @param {import('./backoff.js').PieceSize} size @param {(bytes: number) => void} sent @returns {Promise<void>}
 */
async function uploadOne(transport, { sha256, media_type, size_bytes, bytes }, size, sent) {
  let { offset, complete } = await transport.photoOffset(sha256);
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
      if (error.code === 'photo_offset_mismatch') offset = Number(error.body?.offset ?? 0);
      else if (error.code === 'photo_hash_mismatch' && missteps === 1) offset = 0; // the server threw the pieces away
      else throw error;
    }
    if (missteps > MISSTEPS) throw new SyncError('no_progress');
  }
}
