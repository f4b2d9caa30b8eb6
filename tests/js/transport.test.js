import assert from 'node:assert/strict';
import { test } from 'node:test';
import { PieceSize } from '../../static/js/sync/backoff.js';
import { uploadPhotos } from '../../static/js/sync/photo_upload.js';
import { makeTransport, SyncError } from '../../static/js/sync/transport.js';

test('an answer whose body never ends is given up, so that the next attempt can run', {
  timeout: 5000
}, async () => {
  const fetch = async (_url, { signal }) =>
    new Response(
      new ReadableStream({
        start(stream) {
          stream.enqueue(new TextEncoder().encode('{"ok":'));
          signal.addEventListener('abort', () => stream.error(signal.reason));
        }
      }),
      { headers: { 'Content-Type': 'application/json' } }
    );
  const exchange = makeTransport({ fetch, withinMs: 50 }).exchange({});
  await assert.rejects(
    exchange,
    (error) => error instanceof SyncError && error.code === 'offline' && error.retry
  );
});

test('a refusal whose body never ends is given up too', { timeout: 5000 }, async () => {
  const fetch = async (_url, { signal }) =>
    new Response(
      new ReadableStream({
        start(stream) {
          signal.addEventListener('abort', () => stream.error(signal.reason));
        }
      }),
      { status: 503 }
    );
  const offset = makeTransport({ fetch, withinMs: 50 }).photoOffset('a');
  await assert.rejects(offset, (error) => error instanceof SyncError && error.status === 503 && error.retry);
});

/** A link that passes `most` bytes a request and breaks off at more; the server keeps whole pieces only. */
function poorLink(most) {
  const kept = [];
  return {
    kept,
    async photoOffset() {
      return { offset: kept.length, complete: false };
    },
    async photoPiece(_sha, { offset, total, piece }) {
      if (piece.length > most) throw new SyncError('offline');
      assert.equal(offset, kept.length);
      kept.push(...piece);
      return { offset: kept.length, complete: kept.length === total };
    }
  };
}

test('a photo gets through a link that never passes a whole piece, in smaller ones', async () => {
  const bytes = Uint8Array.from({ length: 300_000 }, (_, i) => i & 255);
  const row = { sha256: 'a', media_type: 'image/jpeg', size_bytes: bytes.length, bytes: bytes.buffer };
  const store = {
    wantedPhotos: async () => new Set(['a']),
    photosHeld: async () => new Set(['a']),
    notePhotosSent: async () => undefined,
    photo: async () => row
  };
  const transport = poorLink(70_000);
  const piece = new PieceSize();
  const counts = { photos: 0 };
  let attempts = 0;
  while (counts.photos === 0 && attempts < 30) {
    attempts += 1;
    await uploadPhotos({ store, transport, piece, counts, report: () => {} }).catch((error) =>
      assert.equal(error.code, 'offline')
    );
  }
  assert.equal(counts.photos, 1);
  assert.deepEqual(transport.kept, [...bytes]);
});

test('pieces shrink to 32 kB and grow back to 1 MB', () => {
  const piece = new PieceSize();
  for (let i = 0; i < 20; i += 1) piece.shrink();
  assert.equal(piece.size, 32 * 1024);
  for (let i = 0; i < 20; i += 1) piece.grow();
  assert.equal(piece.size, 1024 * 1024);
});
