/** Photos to the server: several on their way at once, and the note of what the server still wants. */

import { PhotoLoads } from './photo_loads.js';
import { noting } from './photo_notes.js';
import { sendPhoto, sendTogether } from './photo_send.js';
import { SyncError } from './transport.js';

const LANES = 3; // requests on their way at once
const NOTE_EVERY_MS = 1000;

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('./transport.js').Transport} Transport */
/** @typedef {import('../store/photo_rows.js').PhotoRow} PhotoRow */
/**
 * @typedef {{store: Store, transport: Transport, piece: import('./backoff.js').PieceSize,
 *   counts: {photos: number, bytes: number}, report: () => void}} Tools
 */

/**
 * Send every photo that the server wants and this phone has. One that the server refuses does not hold up the
 * others.
 * @param {Tools} instruments
 * @returns {Promise<void>}
 */
export async function uploadPhotos(instruments) {
  const { store } = instruments;
  const held = await store.photosHeld();
  const wanted = [...(await store.wantedPhotos())].filter((sha256) => held.has(sha256));
  const run = new Run(instruments, wanted);
  await Promise.all(Array.from({ length: LANES }, (_, index) => run.lane(index)));
  await run.finish();
}

class Run {
  /** @type {unknown} what ends the run */
  #stop;
  /** @type {SyncError | undefined} what the server said no to */
  #refused;
  #noted = Promise.resolve();
  #notedAtMs = 0;

  /** @type {string[]} on the server now, and not noted yet */
  #arrived = [];

  /** @param {Tools} instruments @param {string[]} hashes of what is wanted and here */
  constructor(instruments, hashes) {
    this.instruments = instruments;
    this.transport = noting(instruments.transport, instruments.store);
    this.loads = new PhotoLoads(instruments.store, hashes, instruments.piece);
  }

  /** @param {number} index @returns {Promise<void>} */
  async lane(index) {
    // a link that broke off lately is not shared by several
    if (index > 0 && !this.instruments.piece.untroubled) return;
    let coming = this.loads.next();
    while (!this.#stop) {
      try {
        const load = await coming;
        if (load.length === 0) return;
        coming = this.loads.next(); // read while this one is on its way
        await this.#send(load);
      } catch (error) {
        this.#fault(error);
      }
    }
  }

  /** @param {PhotoRow[]} load @returns {Promise<void>} */
  async #send(load) {
    const from = load.length > 1 ? await this.#sendTogether(load) : undefined;
    for (const photo of load) {
      if (this.#stop) return;
      if (from && !from.has(photo.sha256)) continue;
      try {
        await sendPhoto(
          this.transport,
          photo,
          this.instruments.piece,
          (bytes) => this.#sent(bytes),
          from?.get(photo.sha256)
        );
        this.#whole([photo]);
      } catch (error) {
        this.#fault(error);
      }
    }
  }

  /**
   * @param {PhotoRow[]} load
   * @returns {Promise<Map<string, number> | undefined>} those that go on by themselves, and from where;
   *   undefined: all do
   */
  async #sendTogether(load) {
    try {
      const left = await sendTogether(this.transport, load, this.instruments.piece);
      const whole = load.filter(({ sha256 }) => !left.has(sha256));
      this.#sent(whole.reduce((sum, { size_bytes }) => sum + size_bytes, 0));
      this.#whole(whole);
      return left;
    } catch (error) {
      if (!(error instanceof SyncError) || error.retry) throw error;
      this.loads.oneByOne(); // a server, or something before it, that takes no several
      return undefined;
    }
  }

  /** @param {number} bytes */
  #sent(bytes) {
    this.instruments.counts.bytes += bytes;
    this.instruments.report();
  }

  /** @param {PhotoRow[]} photos that the server has now */
  #whole(photos) {
    for (const { sha256 } of photos) this.#arrived.push(sha256);
    this.instruments.counts.photos += photos.length;
    this.instruments.report();
    if (photos.length === 0 || performance.now() - this.#notedAtMs < NOTE_EVERY_MS) return;
    this.#notedAtMs = performance.now();
    this.#note();
  }

  /**
   * Nobody waits for the note of what was sent: should it be lost, the server says again what it has.
   */
  #note() {
    const { store } = this.instruments;
    const arrived = this.#arrived.splice(0);
    this.#noted = this.#noted
      .then(() => store.notePhotosSent(arrived))
      .catch((error) => {
        this.#stop ??= error;
      });
  }

  /** @param {unknown} error */
  #fault(error) {
    if (!(error instanceof SyncError) || error.retry) this.#stop ??= error;
    else this.#refused ??= error;
  }

  /** @returns {Promise<void>} */
  async finish() {
    if (this.#arrived.length > 0) this.#note();
    await this.#noted;
    if (this.#stop) throw this.#stop;
    this.instruments.piece.together = true;
    if (this.#refused) throw this.#refused;
  }
}
