import assert from 'node:assert/strict';
import { test } from 'node:test';
import { photosWait } from '../../static/js/sync/metered.js';
import { logAttempt, MAX_ATTEMPTS, readLog } from '../../static/js/sync/sync_log.js';

function notes() {
  const kept = new Map();
  return {
    syncNote: async (key) => kept.get(key),
    setSyncNote: async (key, value) => {
      kept.set(key, value);
    }
  };
}
const attempt = (n) => ({
  at: `t${n}`,
  by: 'timer',
  state: 'sent',
  took_ms: 1,
  sent: n,
  received: 0,
  setAside: 0,
  photos: 0,
  bytes: 0,
  waiting: 0
});

test('the log keeps the last attempts and no more', async () => {
  const store = notes();
  for (let n = 0; n < MAX_ATTEMPTS + 30; n += 1)
    await logAttempt(store, { ...attempt(n), message: 'x'.repeat(9000) });
  const log = await readLog(store);
  assert.equal(log.length, MAX_ATTEMPTS);
  assert.equal(log.at(-1).sent, MAX_ATTEMPTS + 29);
  assert.ok(JSON.stringify(log).length < 100_000, 'bounded in bytes too');
});

test('a log that cannot be written does not stop a sync', async () => {
  const warn = console.warn;
  console.warn = () => {};
  const broken = {
    syncNote: async () => [],
    setSyncNote: async () => {
      throw new Error('full');
    }
  };
  await logAttempt(broken, attempt(1)).finally(() => {
    console.warn = warn;
  });
});

test('photos wait only where the surveyor said so, and never against a press of the key', () => {
  for (const link of ['metered', 'free', 'unknown']) {
    for (const by of ['open', 'save', 'timer', 'button', 'worker']) {
      assert.equal(photosWait(undefined, link, by), false);
      assert.equal(photosWait('send', link, by), false);
      assert.equal(photosWait('wait', link, by), link !== 'free' && by !== 'button', `${link} ${by}`);
    }
  }
});
