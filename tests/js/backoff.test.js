import assert from 'node:assert/strict';
import { test } from 'node:test';
import { BatchSize, FIRST_MS, LONGEST_MS, waitMs } from '../../static/js/sync/backoff.js';

test('the longest possible wait doubles, then stays at five minutes', () => {
  const almostOne = () => 1 - 1e-12;
  assert.deepEqual(
    [1, 2, 3, 4].map((n) => waitMs(n, almostOne)),
    [FIRST_MS, 2 * FIRST_MS, 4 * FIRST_MS, 8 * FIRST_MS]
  );
  assert.equal(waitMs(30, almostOne), LONGEST_MS);
  assert.equal(waitMs(5000, almostOne), LONGEST_MS);
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
