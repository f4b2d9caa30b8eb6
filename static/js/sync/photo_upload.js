/** Photos to the server, in pieces, from where the last attempt stopped. */

import { SyncError } from './transport.js';

const MISSTEPS = 5;
const LANES = 3; // photos on their way at once
const NOTE_EVERY_MS = 1000;

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {{sha256: string, photo: Promise<import('../store/photo_rows.js').PhotoRow | undefined>}} Next */

/**
 * Send every photo that the server wants and this phone has. One that the server refuses does not hold up the others.
 * @param {{store: Store, transport: Transport, piece: import('./backoff.js').PieceSize, counts: {photos: number, bytes: number},
 *   report: () => void}} tools
 * @returns {Promise<void>}
 */
export async function uploadPhotos({ store, transport, piece, counts, report }) {
  const left = [...await store.wantedPhotos()];
  const wanted = new Set(left);
  /** @type {{stop?: any, refused?: SyncError}} */
  const faults = {};
  let noted = Promise.resolve();
  let notedAtMs = 0;
  // Nobody waits for the note of what is still wanted: should it be lost, the server says again what it has.
  const note = () => {
    noted = noted.then(() => store.setWantedPhotos([...wanted])).catch((error) => { faults.stop ??= error; });
  };
  const nowAndThenNote = () => {
    if (performance.now() - notedAtMs < NOTE_EVERY_MS) return;
    notedAtMs = performance.now();
    note();
  };
  const sent = (/** @type {number} */ bytes) => { counts.bytes += bytes; report(); };
  /** The next photo from the disk. A fault shows only where its turn comes. @returns {Next | undefined} */
  const next = () => {
    const sha256 = left.shift();
    if (sha256 === undefined) return undefined;
    const photo = store.photo(sha256);
    photo.catch(() => {});
    return { sha256, photo };
  };
  const lane = async (/** @type {number} */ index) => {
    if (index > 0 && !piece.untroubled) return; // a link that broke off lately is not shared by several
    let coming = next();
    while (coming && !faults.stop) {
      const { sha256, photo: reading } = coming;
      try {
        const photo = await reading;
        coming = next(); // read while this one is on its way
        if (!photo) continue; // it is on somebody else's phone
        await uploadOne(transport, photo, piece, sent);
      } catch (error) {
        if (!(error instanceof SyncError) || error.retry) faults.stop ??= error;
        else faults.refused ??= error;
        continue;
      }
      wanted.delete(sha256);
      counts.photos += 1;
      report();
      nowAndThenNote();
    }
  };
  await Promise.all(Array.from({ length: LANES }, (_, index) => lane(index)));
  if (counts.photos > 0) note();
  await noted;
  if (faults.stop) throw faults.stop;
  if (faults.refused) throw faults.refused;
}

/**
 * @param {Transport} transport @param {import('../store/photo_rows.js').PhotoRow} photo
 * @param {import('./backoff.js').PieceSize} size @param {(bytes: number) => void} sent @returns {Promise<void>}
 */
async function uploadOne(transport, { sha256, media_type, size_bytes, bytes }, size, sent) {
  // What goes in one piece begins at once: if part of it is there after all, the answer says where to go on.
  const atOnce = size.untroubled && size_bytes <= size.size;
  let { offset, complete } = atOnce ? { offset: 0, complete: false } : await transport.photoOffset(sha256);
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
