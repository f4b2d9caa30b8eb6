import assert from 'node:assert/strict';
import { test } from 'node:test';
import { jobRooms } from '../../static/js/store/job_room.js';
import { JobView } from '../../static/js/store/job_view.js';
import { letPhotosGo } from '../../static/js/sync/photo_let_go.js';
import { makeTransport } from '../../static/js/sync/transport.js';

const SHA = (n) => String(n).repeat(64).slice(0, 64);
const entry = (job, number, kind, record, fields) => ({
  job_id: job,
  writer: `w-${job}`,
  number,
  device_id: 'd',
  record_id: record,
  kind,
  fields,
  recorded_at: '2026-01-01T00:00:00Z'
});

/** Jobs a and b with photos by hash; `sent`: how many entries of each the server has. */
function storeOf(photos, { sent = 99, wanted = [], held } = {}) {
  const views = new Map();
  for (const [job, hashes] of Object.entries(photos)) {
    const view = new JobView(job);
    view.add(entry(job, 1, 'job', job, { title: job }));
    hashes.forEach((n, i) => {
      view.add(
        entry(job, i + 2, 'photo', `${job}${n}`, {
          sha256: SHA(n),
          size_bytes: 1000 * n,
          media_type: 'image/jpeg'
        })
      );
    });
    views.set(job, view);
  }
  const here = new Set(held ?? Object.values(photos).flat().map(SHA));
  return {
    here,
    wishes: [],
    photosHeld: async () => new Set(here),
    wantedPhotos: async () => new Set(wanted.map(SHA)),
    known: async () => [...views.keys()],
    job: async (job) => views.get(job),
    serverVector: async (job) => ({ [`w-${job}`]: sent }),
    async setPhotoWish(job, wish) {
      this.wishes.push([job, wish]);
    },
    async letPhotoGo(_job, sha256) {
      here.delete(sha256);
    }
  };
}

const go = (store, proved) =>
  letPhotosGo({ store, transport: { photoProved: proved }, report: () => undefined }, 'a');

test('only what is here, sent, not wanted and of this job alone may go', async () => {
  const spare = async (store) => (await jobRooms(store)).find((one) => one.job_id === 'a').spare;
  const hashes = (list) => list.map((one) => one.sha256);
  assert.deepEqual(hashes(await spare(storeOf({ a: [1, 2], b: [2, 3] }))), [SHA(1)]);
  assert.deepEqual(hashes(await spare(storeOf({ a: [1, 2] }, { wanted: [2] }))), [SHA(1)]);
  assert.deepEqual(hashes(await spare(storeOf({ a: [1, 2] }, { sent: 2 }))), [SHA(1)]);
  assert.deepEqual(hashes(await spare(storeOf({ a: [1, 2] }, { held: [SHA(2)] }))), [SHA(2)]);
});

test('the rooms say what each job takes, the largest first', async () => {
  const rooms = await jobRooms(storeOf({ a: [1], b: [3, 4] }));
  assert.deepEqual(
    rooms.map((one) => [one.title, one.entries, one.photos, one.photo_bytes, one.spare_bytes]),
    [
      ['b', 3, 2, 7000, 7000],
      ['a', 2, 1, 1000, 1000]
    ]
  );
  assert.ok(rooms.every((one) => one.entry_bytes > 100 && one.entry_bytes < 2000));
});

test('a photo goes only once the server has proved it', async () => {
  const store = storeOf({ a: [1, 2, 3] });
  const found = await go(store, async (sha256) => sha256 !== SHA(2));
  assert.deepEqual(found, { gone: 2, bytes: 4000, unproved: 1 });
  assert.deepEqual([...store.here], [SHA(2)]);
  assert.deepEqual(store.wishes, [['a', 'leave']], 'or it would be fetched again at once');
});

test('with no proof, or with no server, nothing goes and nothing is noted', async () => {
  const store = storeOf({ a: [1, 2] });
  assert.deepEqual(await go(store, async () => false), { gone: 0, bytes: 0, unproved: 2 });
  await assert.rejects(
    go(store, async () => {
      throw new Error('offline');
    })
  );
  assert.equal(store.here.size, 2);
  assert.deepEqual(store.wishes, []);
});

test('the proof is the hash of that very photo, and nothing less', async () => {
  const sha256 = `${'00'.repeat(31)}ff`;
  const base64 = (hex) => Buffer.from(hex, 'hex').toString('base64');
  const asked = [];
  const proved = (headers) =>
    makeTransport({
      fetch: async (_url, init) => {
        asked.push([init.method, init.headers['Want-Repr-Digest']]);
        return new Response(null, { headers });
      }
    }).photoProved(sha256);
  const whole = { 'Upload-Complete': '?1', 'Repr-Digest': `sha-256=:${base64(sha256)}:` };
  assert.equal(await proved(whole), true);
  assert.equal(await proved({ ...whole, 'Upload-Complete': '?0' }), false);
  assert.equal(await proved({ 'Upload-Complete': '?1' }), false, 'a server of an earlier version');
  assert.equal(await proved({ ...whole, 'Repr-Digest': `sha-256=:${base64('11'.repeat(32))}:` }), false);
  assert.equal(await proved({ ...whole, 'Repr-Digest': `sha-512=:${base64(sha256)}:` }), false);
  assert.deepEqual(asked[0], ['HEAD', 'sha-256=1']);
});
