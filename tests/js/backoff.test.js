import assert from 'node:assert/strict';
import { test } from 'node:test';
import { BatchSize, FIRST_MS, MAX_MS, waitMs } from '../../static/js/sync/backoff.js';
import { FakePhone, FakeServer } from './fake_world.js';

test('the longest possible wait doubles, then stays at five minutes', () => {
  const almostOne = () => 1 - 1e-12;
  assert.deepEqual(
    [1, 2, 3, 4].map((n) => waitMs(n, almostOne)),
    [FIRST_MS, 2 * FIRST_MS, 4 * FIRST_MS, 8 * FIRST_MS]
  );
  assert.equal(waitMs(30, almostOne), MAX_MS);
  assert.equal(waitMs(5000, almostOne), MAX_MS);
});

test('jitter is full: the wait can be anything from nothing', () => {
  assert.equal(
    waitMs(9, () => 0),
    0
  );
  assert.equal(
    waitMs(3, () => 0.5),
    2 * FIRST_MS
  );
});

test('a batch is halved by a failure, never below ten, and grows back to five thousand', () => {
  const batch = new BatchSize();
  assert.equal(batch.size, 5000);
  batch.shrink();
  assert.equal(batch.size, 2500);
  for (let i = 0; i < 20; i += 1) batch.shrink();
  assert.equal(batch.size, 10);
  for (let i = 0; i < 20; i += 1) batch.grow();
  assert.equal(batch.size, 5000);
  batch.shrink(900);
  assert.equal(batch.size, 450, 'half of what was tried');
});

test('what a server says that it takes is the most from then on, more or fewer', () => {
  const batch = new BatchSize();
  for (const unstated of [undefined, null, 0, -1, Number.NaN, '10']) batch.heard(unstated);
  assert.equal(batch.size, 5000);
  batch.heard(8000);
  assert.equal(batch.size, 8000);
  batch.shrink();
  batch.heard(20_000);
  assert.equal(batch.size, 4000, 'a link that broke off is not asked for more at once');
  for (let i = 0; i < 20; i += 1) batch.grow();
  assert.equal(batch.size, 20_000);
  batch.heard(100);
  assert.equal(batch.size, 100);
});

test('a server whose limits changed is asked for as much as it takes', () => {
  const batch = new BatchSize();
  batch.heard(5000, 'a');
  batch.shrink();
  batch.heard(5000, 'a');
  assert.equal(batch.size, 2500);
  batch.heard(8000, 'b');
  assert.equal(batch.size, 8000);
  batch.shrink();
  batch.heard(8000, 'b');
  assert.equal(batch.size, 4000);
});

for (const maxEntries of [12, 60, 5000, 9000])
  test(`a server that takes ${maxEntries} entries at once gets and gives them all`, async () => {
    const server = Object.assign(new FakeServer(), { maxEntries });
    const [one, two] = [new FakePhone('one'), new FakePhone('two')];
    for (let n = 0; n < 200; n += 1) one.write('job', 'remark', `r${n}`, { text: `${n}` });
    two.view('job');
    for (const phone of [one, two]) {
      await phone.sync({ server });
      assert.equal(phone.batch.largest, maxEntries);
    }
    assert.deepEqual(two.view('job').vector(), { 'one-1': 200 });
  });
