/** A phone's store and a server in memory, for photos that are fetched. */
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { StoreError } from '../../static/js/store/errors.js';

export const JOB = 'job-1';
export const picture = (n, size) =>
  Uint8Array.from({ length: size }, (_, i) => (i * 31 + n * 7 + (i >> 8)) & 255);
export const hashOf = (bytes) => createHash('sha256').update(bytes).digest('hex');

/** A phone's store in memory, with a job whose records show these pictures. */
export class FakeStore {
  photos = new Map();
  parts = new Map();
  settings = new Map();
  wanted = [];
  room = Infinity;

  constructor(pictures) {
    this.records = pictures.map((bytes) => ({
      fields: { sha256: hashOf(bytes), size_bytes: bytes.length, media_type: 'image/jpeg' }
    }));
    this.photosHeld = async () => new Set(this.photos.keys());
  }

  async followed() {
    return [JOB];
  }
  async job() {
    return { records: () => this.records };
  }
  async wantedPhotos() {
    return new Set(this.wanted);
  }
  async setting(key) {
    return this.settings.get(key);
  }
  async photoWish(job) {
    return this.settings.get(`photos:${job}`);
  }
  async setPhotoWish(job, wish) {
    this.settings.set(`photos:${job}`, wish);
  }
  async photoPartsBytes(sha) {
    return (this.parts.get(sha) ?? []).reduce((sum, one) => sum + one.length, 0);
  }
  async photoPartsJoined(sha) {
    return Uint8Array.from((this.parts.get(sha) ?? []).flatMap((one) => [...one])).buffer;
  }
  async dropPhotoParts(sha) {
    this.parts.delete(sha);
  }

  async addPhotoPart({ sha256, offset, bytes }) {
    if (this.room < bytes.byteLength) throw new StoreError('storage_full');
    assert.equal(offset, await this.photoPartsBytes(sha256), 'pieces follow each other');
    this.parts.set(sha256, [...(this.parts.get(sha256) ?? []), new Uint8Array(bytes)]);
  }

  async keepFetchedPhoto(job, row) {
    assert.equal(job, JOB);
    this.photos.set(row.sha256, row);
    this.parts.delete(row.sha256);
  }
}

/** A server that gives these pictures; `cutAfter`: bytes of an answer before it breaks off, once each. */
export function serverOf(pictures, { cutAfter = [], ranges = true, status = () => 200 } = {}) {
  const byHash = new Map(pictures.map((bytes) => [hashOf(bytes), bytes]));
  const requests = [];
  const cuts = [...cutAfter];
  const server = {
    requests,
    byHash,
    sent: 0,
    async fetch(url, { headers }) {
      const sha = url.split('/').pop();
      const from = Number(/bytes=(\d+)-/.exec(headers?.Range ?? '')?.[1] ?? 0);
      requests.push([sha, from]);
      const code = status(sha, requests.length);
      if (code !== 200)
        return new Response(
          JSON.stringify({
            ok: false,
            status: code,
            retry: code >= 500,
            errors: [{ code: 'x', message: 'No.' }]
          }),
          { status: code }
        );
      const whole = byHash.get(sha);
      const start = ranges ? from : 0;
      const rest = whole.subarray(start);
      const limit = cuts.shift() ?? Infinity;
      let at = 0;
      const body = new ReadableStream(
        {
          pull(stream) {
            if (at >= limit && limit < rest.length) stream.error(new Error('cut'));
            else if (at >= rest.length) stream.close();
            else {
              const piece = rest.subarray(at, Math.min(at + 50_000, limit, rest.length));
              at += piece.length;
              server.sent += piece.length;
              stream.enqueue(piece);
            }
          }
        },
        { highWaterMark: 0 }
      );
      const partial = ranges && from > 0;
      return new Response(body, {
        status: partial ? 206 : 200,
        headers: partial
          ? { 'Content-Range': `bytes ${start}-${whole.length - 1}/${whole.length}` }
          : { 'Content-Length': String(whole.length) }
      });
    }
  };
  return server;
}
