import assert from 'node:assert/strict';
import { test } from 'node:test';
import { makeTransport, SyncError } from '../../static/js/sync/transport.js';
import { FakeServer, MB, Phone } from './upload_kit.js';

test('small photos go together: 20 of 200 kB in four requests, and few of them in memory at once', async () => {
  const phone = new Phone(Array(20).fill(200_000));
  const server = new FakeServer(phone);
  assert.deepEqual(await phone.run(server), { photos: 20, bytes: 4_000_000, fault: undefined });
  assert.deepEqual(
    server.requests.map(([kind, ...shas]) => [kind, shas.length]),
    Array(4).fill(['together', 5])
  );
  assert.deepEqual([...server.taken].sort(), phone.here().sort());
  assert.deepEqual(phone.wanted, []);
  const many = new Phone(Array(400).fill(200_000));
  assert.equal((await many.run(new FakeServer(many))).photos, 400);
  assert.ok(many.mostInMemory <= 3 * 2 * 5 + 1, `${many.mostInMemory} photos in memory`);
});

test('at most 16 go together; a large one goes by itself; one on another phone is passed over and stays wanted', async () => {
  const tiny = new Phone(Array(40).fill(1000));
  const server = new FakeServer(tiny);
  assert.equal((await tiny.run(server)).photos, 40);
  assert.deepEqual(
    server.requests.map((request) => request.length - 1),
    [16, 16, 8]
  );
  const phone = new Phone([300_000, MB / 2, null, MB / 2 + 1, 3 * MB, 1000]);
  const mixed = new FakeServer(phone);
  assert.deepEqual(await phone.run(mixed), {
    photos: 5,
    bytes: 300_000 + MB + 1 + 3 * MB + 1000,
    fault: undefined
  });
  assert.deepEqual(
    mixed.requests.filter(([kind]) => kind === 'together'),
    [['together', 'photo0', 'photo1']]
  );
  assert.deepEqual(phone.wanted, ['photo2']);
});

test('a photo wanted twice is sent and counted once', async () => {
  const phone = new Phone([1000, 2000]);
  phone.wanted = ['photo0', 'photo1', 'photo0'];
  assert.equal((await phone.run(new FakeServer(phone))).photos, 2);
});

test('a part that was not taken goes on by itself in the same run, from where the server says', async () => {
  const phone = new Phone(Array(4).fill(100_000));
  const server = new FakeServer(phone);
  server.has.set('photo1', 30_000);
  assert.deepEqual(await phone.run(server), { photos: 4, bytes: 370_000, fault: undefined });
  assert.deepEqual(
    server.requests.map(([kind]) => kind),
    ['together', 'PUT'],
    'no question in between'
  );
  assert.equal(server.taken.length, 4);
});

test('what the server says of a photo is noted with it: kept but not shown, or refused', async () => {
  const phone = new Phone([9 * MB, 100, 200]);
  const refusal = new SyncError('photo_too_large', { message: 'Too large.', retry: false, status: 413 });
  const server = {
    photoOffset: async () => ({ offset: 0, complete: false }),
    photoPiece: async () => {
      throw refusal;
    },
    photosTogether: async (photos) =>
      photos.map(({ sha256 }) => ({
        sha256,
        offset: 1,
        complete: true,
        ...(sha256 === 'photo1' && { note: 'Kept.' })
      }))
  };
  assert.equal((await phone.run(server)).fault, refusal);
  assert.deepEqual(phone.said, {
    photo0: { code: 'photo_too_large', message: 'Too large.' },
    photo1: { message: 'Kept.' }
  });
});

test('a damaged photo is refused with its fault, and its neighbours are whole', async () => {
  const phone = new Phone(Array(4).fill(100_000));
  const wrong = new SyncError('photo_hash_mismatch', { retry: false, status: 422 });
  const server = new FakeServer(phone, (kind, [sha256]) => {
    if (kind === 'part' && sha256 === 'photo2') return 'photo_hash_mismatch';
    return kind === 'PUT' ? wrong : undefined;
  });
  const found = await phone.run(server);
  assert.deepEqual([found.photos, found.fault.code], [3, 'photo_hash_mismatch']);
  assert.deepEqual(phone.wanted, ['photo2']);
});

test('a server that takes no several gets them one by one, and is asked once', async () => {
  for (const status of [404, 405, 413]) {
    const phone = new Phone(Array(12).fill(200_000));
    const refusal = new SyncError(`http_${status}`, { retry: false, status });
    const server = new FakeServer(phone, (kind) => (kind === 'together' ? refusal : undefined));
    assert.deepEqual(await phone.run(server), { photos: 12, bytes: 2_400_000, fault: undefined });
    assert.ok(server.count('together') <= 3, 'what was on its way at once');
    assert.deepEqual([...server.taken].sort(), phone.here().sort());
  }
});

test('a bundle that breaks off ends the run; the next one asks photo by photo where to go on', async () => {
  for (const how of ['before', 'after']) {
    let broken = false;
    const phone = new Phone(Array(4).fill(200_000));
    const server = new FakeServer(phone, (kind) => {
      if (kind !== 'together' || broken) return undefined;
      broken = true;
      return how;
    });
    const first = await phone.run(server);
    assert.deepEqual([first.photos, first.fault.code], [0, 'offline']);
    assert.deepEqual(phone.wanted, phone.here(), 'nothing is called sent');
    assert.equal(phone.piece.untroubled, false);
    server.requests.length = 0;
    assert.deepEqual((await phone.run(server)).fault, undefined);
    assert.deepEqual(server.requests[0], ['HEAD', 'photo0']);
    assert.deepEqual([...server.taken].sort(), phone.here().sort(), 'each once');
    assert.deepEqual(phone.wanted, []);
  }
});

test('a link that passes 300 kB at a time gets every photo in the run after the one that broke off', async () => {
  const phone = new Phone(Array(30).fill(100_000));
  const size = (shas) => shas.reduce((sum, sha256) => sum + phone.sizes.get(sha256), 0);
  const server = new FakeServer(phone, (kind, shas) =>
    size(shas) > 300_000 && kind === 'together' ? 'before' : undefined
  );
  assert.equal((await phone.run(server)).fault.code, 'offline');
  assert.equal((await phone.run(server)).fault, undefined);
  assert.deepEqual([server.taken.length, phone.wanted], [30, []]);
  const bundles = server.count('together');
  Object.assign(phone, {
    wanted: ['more0', 'more1'],
    sizes: new Map([...phone.sizes, ['more0', 1000], ['more1', 1000]])
  });
  assert.equal((await phone.run(server)).fault, undefined);
  assert.equal(server.count('together'), bundles + 1, 'a run that ended well: several are tried again');
});

test('a server that fails at several, whatever they are, gets them one by one in the next run', async () => {
  for (const code of ['server_fault', 'http_501']) {
    const phone = new Phone(Array(12).fill(200_000));
    const fault = new SyncError(code, { status: code === 'http_501' ? 501 : 500 });
    const server = new FakeServer(phone, (kind) => (kind === 'together' ? fault : undefined));
    assert.equal((await phone.run(server)).fault.code, code);
    assert.equal((await phone.run(server)).fault, undefined);
    assert.deepEqual([server.taken.length, phone.wanted], [12, []]);
  }
});

test('a server that names a byte behind the end of a photo is no fault of the phone', async () => {
  for (const from of ['HEAD', 'PUT']) {
    const phone = new Phone([100_000]);
    if (from === 'HEAD') phone.piece.shrink();
    const server = new FakeServer(phone);
    server.has.set('photo0', 100_001);
    assert.equal((await phone.run(server)).fault.code, 'no_progress');
    assert.equal(server.requests[0][0], from);
  }
});

test('a photo that the disk cannot read holds up none before it', async () => {
  const phone = new Phone(Array(4).fill(1000));
  phone.damaged.add('photo2');
  const found = await phone.run(new FakeServer(phone));
  assert.deepEqual([found.photos, found.fault.message], [2, 'the disk cannot read it']);
  assert.deepEqual(phone.wanted, ['photo2', 'photo3']);
});

function chance(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) | 0;
    return (state >>> 8) / 2 ** 24;
  };
}

test('whatever breaks, a run that ends well has left no photo behind, and none counts twice', async () => {
  for (let seed = 1; seed <= 300; seed += 1) {
    const random = chance(seed * 7919);
    const pick = (...list) => list[Math.floor(random() * list.length)];
    const sizes = Array.from({ length: Math.ceil(random() * 30) }, () =>
      pick(1000, 60_000, 200_000, 500_000, 1.5 * MB, null)
    );
    const phone = new Phone(sizes);
    const trouble = pick(0, 0.1, 0.4);
    const takesSeveral = random() < 0.8;
    const server = new FakeServer(phone, (kind) => {
      if (kind === 'together' && !takesSeveral)
        return new SyncError('http_405', { retry: false, status: 405 });
      if (random() >= trouble) return undefined;
      return kind === 'part'
        ? pick('disk_full', 'busy')
        : pick('before', 'after', new SyncError('busy', { status: 503 }));
    });
    let ended = false;
    for (let attempt = 0; attempt < 200 && !ended; attempt += 1) {
      const before = phone.wanted.length;
      const { photos, fault } = await phone.run(server);
      assert.equal(before - phone.wanted.length, photos, `seed ${seed}: counted as they leave the list`);
      for (const sha256 of phone.here())
        assert.ok(phone.wanted.includes(sha256) || server.whole.has(sha256), `seed ${seed}`);
      ended = fault === undefined;
    }
    assert.ok(ended, `seed ${seed}: it comes to an end`);
    assert.deepEqual([...server.taken].sort(), phone.here().sort(), `seed ${seed}: each whole once`);
    assert.deepEqual(
      phone.wanted,
      [...phone.sizes].filter(([, size]) => size === null).map(([sha256]) => sha256)
    );
  }
});

test('the request is one body and a header that says what lies in it', async () => {
  const requested = [];
  const answers = [{ ok: true, photos: [] }, { ok: true }];
  const transport = makeTransport({
    fetch: async (url, init) => {
      requested.push([url, init.method, init.headers, await init.body.text()]);
      return new Response(JSON.stringify(answers.shift()), {
        headers: { 'Content-Type': 'application/json' }
      });
    }
  });
  const bytes = (text) => new TextEncoder().encode(text).buffer;
  const photos = [
    { sha256: 'aa', media_type: 'image/jpeg', bytes: bytes('one') },
    { sha256: 'bb', media_type: 'image/"ü\\\n', bytes: bytes('two four') }
  ];
  assert.deepEqual(await transport.photosTogether(photos), []);
  assert.deepEqual(requested, [
    [
      '/api/photos',
      'PUT',
      {
        'Content-Type': 'application/octet-stream',
        'Upload-Parts': '"aa";length=3;type="image/jpeg", "bb";length=8;type="image/"'
      },
      'onetwo four'
    ]
  ]);
  await assert.rejects(
    transport.photosTogether(photos),
    (error) => error.code === 'not_the_server' && error.retry
  );
});
