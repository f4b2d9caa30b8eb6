import assert from 'node:assert/strict';
import { test } from 'node:test';
import { PhotoFetch } from '../../static/js/sync/photo_fetch.js';
import { ASK_FROM_BYTES, photoPlan } from '../../static/js/sync/photo_plan.js';
import { makeTransport, SyncError } from '../../static/js/sync/transport.js';
import { FakeStore, hashOf, JOB, picture, serverOf } from './fetch_kit.js';

function fetcher(t, store, server, more = {}) {
  const photos = new PhotoFetch({
    store,
    transport: makeTransport({ fetch: server.fetch }),
    now: () => new Date(),
    random: () => 1,
    link: () => 'free',
    room: async () => ({ known: true, free_bytes: 1e9 }),
    ...more
  });
  t.after(() => photos.stop());
  return { photos };
}

test('every photo of the job comes, is what its record says, and leaves no pieces behind', async (t) => {
  const pictures = [picture(1, 300_000), picture(2, 10), picture(3, 700_001)];
  const store = new FakeStore([...pictures, pictures[0]]); // two records may show one picture
  const server = serverOf(pictures);
  const events = [];
  const { photos } = fetcher(t, store, server, {
    shrink: async () => ({ preview: new ArrayBuffer(1), preview_type: 'image/jpeg' })
  });
  photos.events.addEventListener('changed', () => events.push(1));
  assert.equal((await photos.ofJob(JOB)).plan, 'fetch');
  await photos.run('open');
  for (const bytes of pictures) {
    const row = store.photos.get(hashOf(bytes));
    assert.deepEqual(new Uint8Array(row.bytes), bytes);
    assert.equal(row.preview.byteLength, 1);
  }
  assert.equal(store.parts.size, 0);
  assert.equal(server.requests.length, 3);
  assert.ok(events.length >= 2);
  const now = await photos.ofJob(JOB);
  assert.deepEqual(
    [now.plan, now.total, now.here, now.missing_bytes, now.fetching],
    ['none', 3, 3, 0, false]
  );
});

test('a photo that broke off goes on from the byte it came to, also in another opening of the app', async (t) => {
  const big = picture(1, 1_000_000);
  const store = new FakeStore([big]);
  const server = serverOf([big], { cutAfter: [400_000, 300_000] });
  for (let opening = 0; opening < 3; opening += 1) {
    const { photos } = fetcher(t, store, server, { random: () => 10 });
    await photos.run('open');
    const { code, here } = await photos.ofJob(JOB);
    assert.deepEqual([code, here], opening < 2 ? ['offline', 0] : ['', 1]);
  }
  assert.deepEqual(
    server.requests.map(([, from]) => from),
    [0, 400_000, 700_000]
  );
  assert.equal(server.sent, 1_000_000, 'no byte came twice');
  assert.deepEqual(new Uint8Array(store.photos.get(hashOf(big)).bytes), big);
});

test('after a cut it tries again by itself', async (t) => {
  const big = picture(1, 500_000);
  const store = new FakeStore([big]);
  const { photos } = fetcher(t, store, serverOf([big], { cutAfter: [300_000] }), { random: () => 0.001 });
  await photos.run('open');
  for (let i = 0; i < 100 && store.photos.size === 0; i += 1)
    await new Promise((done) => {
      setTimeout(done, 20);
    });
  assert.equal(store.photos.size, 1);
});

test('a server that knows no parts gives it anew, and it is right', async (t) => {
  const big = picture(1, 600_000);
  const store = new FakeStore([big]);
  const server = serverOf([big], { cutAfter: [300_000], ranges: false });
  const { photos } = fetcher(t, store, server, { random: () => 10 });
  await photos.run('open');
  await photos.run('button');
  assert.deepEqual(new Uint8Array(store.photos.get(hashOf(big)).bytes), big);
});

test('an answer that ends too early as if that were all keeps its pieces', async (t) => {
  const big = picture(1, 600_000);
  const store = new FakeStore([big]);
  const server = serverOf([big]);
  const short = async (url, init) => {
    const answer = await server.fetch(url, init);
    if (init.headers?.Range) return answer;
    return new Response((await answer.arrayBuffer()).slice(0, 300_000), { headers: answer.headers });
  };
  const { photos } = fetcher(t, store, { fetch: short }, { random: () => 10 });
  await photos.run('open');
  assert.equal((await photos.ofJob(JOB)).code, 'offline');
  assert.equal(await store.photoPartsBytes(hashOf(big)), 300_000);
  await photos.run('button');
  assert.equal(store.photos.size, 1);
});

test('whole pieces of a photo that was not yet kept are enough, whatever its record says of its size', async (t) => {
  const bytes = picture(1, 5000);
  for (const stated of [5000, 4000, 6000, 0]) {
    const store = new FakeStore([bytes]);
    store.records[0].fields.size_bytes = stated;
    store.parts.set(hashOf(bytes), [bytes]);
    const { photos } = fetcher(t, store, serverOf([bytes], { status: () => 422 }));
    await photos.run('open');
    assert.equal(store.photos.size, 1, `${stated} bytes`);
  }
});

test('what came with another content is not kept, is said, and holds up no other', async (t) => {
  const [good, bad] = [picture(1, 1000), picture(2, 1000)];
  const store = new FakeStore([bad, good]);
  const server = serverOf([good, bad]);
  server.byHash.set(hashOf(bad), picture(3, 1000));
  const { photos } = fetcher(t, store, server);
  for (let i = 0; i < 4; i += 1) await photos.run('open');
  const now = await photos.ofJob(JOB);
  assert.deepEqual([now.here, now.damaged, store.parts.size], [1, 1, 0]);
  assert.equal(server.requests.filter(([sha]) => sha === hashOf(bad)).length, 2, 'not asked for for ever');
  server.byHash.set(hashOf(bad), bad);
  await photos.take(JOB);
  assert.equal((await photos.ofJob(JOB)).here, 2);
});

test('what the server has not is said, and holds up no other', async (t) => {
  const pictures = [picture(1, 1000), picture(2, 1000), picture(3, 1000)];
  const store = new FakeStore(pictures);
  store.wanted = [hashOf(pictures[0])];
  const server = serverOf(pictures, { status: (sha) => (sha === hashOf(pictures[1]) ? 404 : 200) });
  const { photos } = fetcher(t, store, server);
  await photos.run('open');
  const now = await photos.ofJob(JOB);
  assert.deepEqual([now.total, now.here, now.absent, now.missing.length, now.plan], [3, 1, 2, 0, 'none']);
});

test('with too little room nothing is fetched, and it says how much there is', async (t) => {
  const store = new FakeStore([picture(1, 1000)]);
  const server = serverOf([]);
  const { photos } = fetcher(t, store, server, {
    room: async () => ({ known: true, free_bytes: 20_000_500 })
  });
  await photos.run('open');
  const now = await photos.ofJob(JOB);
  assert.deepEqual([now.code, now.free_bytes, server.requests.length], ['no_room', 500, 0]);
});

test('a phone that fills up meanwhile stops, says so, and goes on when there is room', async (t) => {
  const big = picture(1, 900_000);
  const store = new FakeStore([big]);
  const { photos } = fetcher(t, store, serverOf([big]));
  store.room = 1000;
  await photos.run('open');
  assert.equal((await photos.ofJob(JOB)).code, 'no_room');
  store.room = Infinity;
  await photos.run('open');
  assert.equal(store.photos.size, 1);
});

test('a refusal stops it with the reason; it is not tried again by itself', async (t) => {
  const store = new FakeStore([picture(1, 1000), picture(2, 1000)]);
  const server = serverOf([], { status: () => 403 });
  const { photos } = fetcher(t, store, server, { random: () => 0 });
  await photos.run('open');
  await new Promise((done) => {
    setTimeout(done, 30);
  });
  const now = await photos.ofJob(JOB);
  assert.deepEqual([now.code, now.message, server.requests.length], ['x', 'No.', 1]);
});

test('who says leave them is heard at once, who says take them too', async (t) => {
  const pictures = [picture(1, 1000), picture(2, 1000), picture(3, 1000)];
  const store = new FakeStore(pictures);
  const { photos } = fetcher(t, store, serverOf(pictures));
  const keep = store.keepFetchedPhoto.bind(store);
  store.keepFetchedPhoto = async (job, row) => {
    await keep(job, row);
    await photos.leave(JOB);
  };
  await photos.run('open');
  assert.deepEqual([store.photos.size, (await photos.ofJob(JOB)).plan], [1, 'leave']);
  store.keepFetchedPhoto = keep;
  await photos.take(JOB);
  assert.equal(store.photos.size, 3);
});

test('what was asked for while it was at work is done after it', async (t) => {
  const pictures = [picture(1, 1000)];
  const store = new FakeStore(pictures);
  store.settings.set('photos_metered', 'wait');
  const { photos } = fetcher(t, store, serverOf(pictures), { link: () => 'metered' });
  const first = photos.run('timer');
  await photos.take(JOB);
  await first;
  assert.equal(store.photos.size, 1);
});

test('what is small and costs nothing comes by itself; all else is asked', () => {
  const some = (missing_bytes) => ({ missing: [1], missing_bytes });
  const none = { missing: [], missing_bytes: 0 };
  const plan = (found, wish, setting, link, by = 'timer') => photoPlan(found, wish, setting, link, by);
  assert.equal(plan(none, undefined, undefined, 'free'), 'none');
  assert.equal(plan(some(1000), undefined, undefined, 'free'), 'fetch');
  assert.equal(plan(some(1000), undefined, undefined, 'unknown'), 'fetch');
  assert.equal(plan(some(ASK_FROM_BYTES + 1), undefined, undefined, 'free'), 'ask');
  assert.equal(
    plan(some(ASK_FROM_BYTES + 1), undefined, undefined, 'free', 'button'),
    'ask',
    'Sync now is no answer to it'
  );
  assert.equal(plan(some(1000), undefined, undefined, 'metered'), 'ask');
  assert.equal(plan(some(1000), undefined, undefined, 'metered', 'button'), 'ask');
  assert.equal(plan(some(1000), undefined, 'wait', 'unknown'), 'ask');
  assert.equal(plan(some(1000), undefined, 'wait', 'unknown', 'button'), 'ask');
  assert.equal(plan(some(1000), undefined, 'wait', 'free'), 'fetch');
  for (const link of ['free', 'metered', 'unknown']) {
    assert.equal(plan(some(9e9), 'leave', undefined, link, 'button'), 'leave');
    assert.equal(plan(some(9e9), 'take', undefined, link), 'fetch');
    assert.equal(plan(some(9e9), 'take', 'wait', link), link === 'free' ? 'fetch' : 'wait');
    assert.equal(plan(some(9e9), 'take', 'wait', link, 'button'), 'fetch');
  }
});

test('a link that gives nothing for a while is given up, with what came kept', {
  timeout: 5000
}, async () => {
  const fetch = async (_url, { signal }) =>
    new Response(
      new ReadableStream({
        start(stream) {
          stream.enqueue(new Uint8Array(10));
          signal.addEventListener('abort', () => stream.error(signal.reason));
        }
      }),
      { headers: { 'Content-Length': '20' } }
    );
  const came = [];
  const sink = {
    restart: async () => {},
    take: async (bytes) => {
      came.push(bytes.length);
    }
  };
  const coming = makeTransport({ fetch, withinMs: 50 }).photoBytes('a', 0, 20, sink);
  await assert.rejects(
    coming,
    (error) => error instanceof SyncError && error.code === 'offline' && error.retry
  );
  assert.deepEqual(came, [10]);
});
