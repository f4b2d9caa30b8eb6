/** What the server said of a photo that was sent: kept, but not to be shown in the report; or refused. */

import { SyncError } from './transport.js';

/** @typedef {import('./transport.js').Transport} Transport */
/**
 * `code`: of a refusal, none of one that is kept.
 * @typedef {{code?: string, message: string}} PhotoNote
 */

const GOES_ON = ['photo_offset_mismatch', 'photo_hash_mismatch'];

/**
 * The same transport, which notes what is said.
 * @param {Transport} transport
 * @param {{notePhoto: (sha256: string, said: PhotoNote) => Promise<void>}} store
 * @returns {Transport}
 */
export function noting(transport, store) {
  /** @type {Transport} */
  const own = Object.create(transport);
  own.photoOffset = (sha256) => transport.photoOffset(sha256);
  own.photoPiece = async (sha256, part) => {
    try {
      const answer = await transport.photoPiece(sha256, part);
      if (answer.note) await store.notePhoto(sha256, { message: answer.note });
      return answer;
    } catch (error) {
      if (error instanceof SyncError && !error.retry && !GOES_ON.includes(error.code))
        await store.notePhoto(sha256, { code: error.code, message: error.message });
      throw error;
    }
  };
  own.photosTogether = async (photos) => {
    const answers = await transport.photosTogether(photos);
    for (const { sha256, note } of answers) if (note) await store.notePhoto(sha256, { message: note });
    return answers;
  };
  return own;
}
