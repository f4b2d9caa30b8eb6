/** One photo from the server, from where the last attempt broke off. Its pieces are on disk as they come. */

import { sha256Hex } from '../store/photo_rows.js';
import { SyncError } from './transport.js';

const PIECE_BYTES = 256 * 1024; // what a cut can cost

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('../store/photos_here.js').PhotoWanted} PhotoWanted */
/**
 * @typedef {(bytes: ArrayBuffer, type: string) => Promise<{preview?: ArrayBuffer, preview_type?: string}>}
 *   Shrink
 */
/**
 * @typedef {{store: Store, transport: import('./transport.js').Transport, shrink?: Shrink, came: (bytes:
 *   number) => void}} Tools
 */

/**
 * @param {Tools} instruments
 * @param {string} jobId
 * @param {PhotoWanted} photo
 * @returns {Promise<void>} kept when it resolves
 */
export async function fetchPhoto(instruments, jobId, photo) {
  const { store, transport } = instruments;
  const { sha256, size_bytes } = photo;
  const from = await store.photoPartsBytes(sha256);
  instruments.came(from);
  if (from === 0 || from < size_bytes) {
    const pieces = new Pieces(instruments, sha256, from);
    try {
      await transport.photoBytes(sha256, from, size_bytes, pieces);
    } catch (error) {
      // Nothing lies beyond what has come: it is whole, whatever its record says of its size, or it is no
      // good.
      if (!(error instanceof SyncError) || ![416, 422].includes(error.status)) throw error;
    } finally {
      await pieces.flush();
    }
  }
  await keep(instruments, jobId, photo);
}

/** @param {Tools} instruments @param {string} jobId @param {PhotoWanted} photo @returns {Promise<void>} */
async function keep({ store, shrink }, jobId, { sha256, media_type }) {
  const bytes = await store.photoPartsJoined(sha256);
  if ((await sha256Hex(bytes)) !== sha256) {
    await store.dropPhotoParts(sha256);
    throw new SyncError('photo_damaged');
  }
  const { preview, preview_type } = (await shrink?.(bytes, media_type)) ?? {};
  await store.keepFetchedPhoto(jobId, {
    sha256,
    media_type,
    size_bytes: bytes.byteLength,
    bytes,
    ...(preview ? { preview, preview_type } : {})
  });
}

/** Gathers what comes into pieces and writes each down. */
export class Pieces {
  /** @type {Uint8Array[]} */
  #waiting = [];
  #bytes = 0;

  /** @param {Tools} instruments @param {string} sha256 @param {number} from */
  constructor(instruments, sha256, from) {
    this.instruments = instruments;
    this.sha256 = sha256;
    this.at = from;
  }

  /** The server gave it from the first byte on. */
  async restart() {
    this.instruments.came(-this.at);
    this.at = 0;
    await this.instruments.store.dropPhotoParts(this.sha256);
  }

  /** @param {Uint8Array} bytes */
  async take(bytes) {
    this.#waiting.push(bytes);
    this.#bytes += bytes.byteLength;
    this.instruments.came(bytes.byteLength);
    if (this.#bytes >= PIECE_BYTES) await this.flush();
  }

  async flush() {
    if (this.#bytes === 0) return;
    const piece = new Uint8Array(this.#bytes);
    let at = 0;
    for (const one of this.#waiting) {
      piece.set(one, at);
      at += one.byteLength;
    }
    const offset = this.at;
    this.#waiting = [];
    this.#bytes = 0;
    await this.instruments.store.addPhotoPart({ sha256: this.sha256, offset, bytes: piece.buffer });
    this.at += piece.byteLength;
  }
}
