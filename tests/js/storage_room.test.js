import { test } from 'node:test';
import assert from 'node:assert/strict';
import { StorageCare } from '../../static/js/pwa/storage.js';

/** A browser whose answers about the room come when the test says so. */
function slowBrowser() {
  const waiting = [];
  const estimate = () => new Promise((resolve) => waiting.push(resolve));
  const storage = { estimate, persisted: async () => false };
  Object.defineProperty(globalThis, 'navigator', { value: { storage }, configurable: true });
  return (place, usage) => waiting[place]({ usage, quota: 100 });
}

function care() {
  const one = new StorageCare(/** @type {any} */ ({ events: new EventTarget() }));
  const turns = [];
  one.events.addEventListener('changed', () => turns.push(one.low));
  return { one, turns };
}

test('an answer that comes late does not take the place of a newer one', async () => {
  const answer = slowBrowser();
  const { one, turns } = care();
  const looks = [one.look(), one.look()];
  answer(1, 81);
  await looks[1];
  answer(0, 20);
  await looks[0];
  assert.equal(one.low, true);
  assert.deepEqual(turns, [true]);
});

test('answers that come in turn are told, whatever is still asked', async () => {
  const answer = slowBrowser();
  const { one, turns } = care();
  const looks = [one.look(), one.look(), one.look()];
  answer(0, 81);
  await looks[0];
  answer(1, 20);
  await looks[1];
  assert.deepEqual(turns, [true, false]);
  answer(2, 90);
  await looks[2];
  assert.deepEqual(turns, [true, false, true]);
});
