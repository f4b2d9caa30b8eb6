/** A phone and a server in memory, for photos that are sent. */
import assert from 'node:assert/strict';
import { PieceSize } from '../../static/js/sync/backoff.js';
import { uploadPhotos } from '../../static/js/sync/photo_upload.js';
import { SyncError } from '../../static/js/sync/transport.js';

export const MB = 1024 * 1024;

/** A phone with photos of these sizes; `null` is one that is on another phone. */
export class Phone {
  constructor(sizes) {
    this.sizes = new Map(sizes.map((size, n) => [`photo${n}`, size]));
    this.wanted = [...this.sizes.keys()];
    this.piece = new PieceSize();
    this.inMemory = new Set();
    this.mostInMemory = 0;
    this.damaged = new Set();
  }

  here() {
    return [...this.sizes].filter(([, size]) => size !== null).map(([sha256]) => sha256);
  }

  async wantedPhotos() {
    return new Set(this.wanted);
  }

  async photosHeld() {
    return new Set(this.here());
  }

  async notePhotosSent(hashes) {
    this.wanted = this.wanted.filter((sha256) => !hashes.includes(sha256));
  }

  async notePhoto(sha256, said) {
    this.said = { ...this.said, [sha256]: said };
  }

  async photo(sha256) {
    await null;
    if (this.damaged.has(sha256)) throw new Error('the disk cannot read it');
    const size = this.sizes.get(sha256);
    if (size === null) return undefined;
    this.inMemory.add(sha256);
    this.mostInMemory = Math.max(this.mostInMemory, this.inMemory.size);
    return { sha256, media_type: 'image/jpeg', size_bytes: size, bytes: new ArrayBuffer(size) };
  }

  /** @returns {Promise<{photos: number, bytes: number, fault?: any}>} */
  async run(server) {
    const counts = { photos: 0, bytes: 0 };
    const all = { store: this, transport: server, piece: this.piece, counts, report: () => {} };
    const fault = await uploadPhotos(all).then(
      () => undefined,
      (error) => error
    );
    return { ...counts, fault };
  }
}

/**
 * A server that keeps what it is sent, but for what `meets` says of a request: 'before', 'after' (the answer
 * is lost) or an error.
 */
export class FakeServer {
  constructor(phone, meets = () => undefined) {
    Object.assign(this, { phone, meets, has: new Map(), whole: new Set(), taken: [], requests: [] });
  }

  async #request(kind, shas, work) {
    this.requests.push([kind, ...shas]);
    await null;
    const fate = this.meets(kind, shas);
    if (fate === 'before') throw new SyncError('offline');
    if (fate instanceof SyncError) throw fate;
    const answer = work();
    if (fate === 'after') throw new SyncError('offline');
    return answer;
  }

  #take(sha256, offset, length) {
    if (this.whole.has(sha256)) return { offset: this.phone.sizes.get(sha256), complete: true };
    const now = this.has.get(sha256) ?? 0;
    if (offset !== now) return { offset: now, complete: false, code: 'photo_offset_mismatch' };
    this.has.set(sha256, now + length);
    const complete = now + length === this.phone.sizes.get(sha256);
    if (complete) {
      this.whole.add(sha256);
      this.taken.push(sha256);
      this.phone.inMemory.delete(sha256);
    }
    return { offset: now + length, complete };
  }

  photoOffset(sha256) {
    return this.#request('HEAD', [sha256], () => ({
      offset: this.has.get(sha256) ?? 0,
      complete: this.whole.has(sha256)
    }));
  }

  photoPiece(sha256, { offset, total, piece }) {
    assert.equal(total, this.phone.sizes.get(sha256));
    return this.#request('PUT', [sha256], () => {
      const answer = this.#take(sha256, offset, piece.length);
      if (!answer.code) return answer;
      throw new SyncError(answer.code, { retry: false, status: 409, body: answer });
    });
  }

  photosTogether(photos) {
    const shas = photos.map(({ sha256 }) => sha256);
    assert.ok(shas.length > 1 && shas.length <= 16 && new Set(shas).size === shas.length);
    assert.ok(photos.reduce((sum, { bytes }) => sum + bytes.byteLength, 0) <= MB);
    return this.#request('together', shas, () =>
      photos.map(({ sha256, bytes }) => {
        const fate = this.meets('part', [sha256]);
        if (fate) return { sha256, offset: 0, complete: false, code: fate };
        return { sha256, ...this.#take(sha256, 0, bytes.byteLength) };
      })
    );
  }

  count(kind) {
    return this.requests.filter(([one]) => one === kind).length;
  }
}
