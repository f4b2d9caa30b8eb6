/** Photos of a job off this phone, by a person's choice: each once the server has proved that it has it. */

import { jobRooms } from '../store/job_room.js';
export { jobRooms } from '../store/job_room.js';

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {{gone: number, bytes: number, unproved: number}} LetGo */

/**
 * @param {{store: Store, transport: Pick<Transport, 'photoProved'>, report: (done: number, total: number) =>
 *   void}} instruments
 * @param {string} jobId
 * @returns {Promise<LetGo>} rejects when the server is not reached; what had been proved by then is gone
 */
export async function letPhotosGo({ store, transport, report }, jobId) {
  const found = { gone: 0, bytes: 0, unproved: 0 };
  const room = (await jobRooms(store)).find((one) => one.job_id === jobId);
  const spare = room?.spare ?? [];
  for (const [index, { sha256, size_bytes }] of spare.entries()) {
    report(index, spare.length);
    if (!(await transport.photoProved(sha256))) {
      found.unproved += 1;
      continue;
    }
    // or it would be fetched again at once
    if (found.gone === 0) await store.setPhotoWish(jobId, 'leave').catch(() => undefined);
    await store.letPhotoGo(jobId, sha256);
    found.gone += 1;
    found.bytes += size_bytes;
  }
  return found;
}
