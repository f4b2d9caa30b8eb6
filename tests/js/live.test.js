import assert from 'node:assert/strict';
import { test } from 'node:test';
import { live } from '../../static/js/ui/live.js';

globalThis.document = { getElementById: () => null, activeElement: null, body: {} };
const pause = (ms = 5) => new Promise((done) => setTimeout(done, ms));
const drawnAgain = () => pause(80); // a row of changes is drawn once, a little later
const changed = (jobId) => Object.assign(new Event('changed'), { detail: { jobId } });

test('what changes while a screen is drawn for the first time is drawn too', async () => {
  const app = { store: { events: new EventTarget(), job: async () => ({ job: {} }) } };
  let stored = 1;
  let shown = 0;
  const mounted = live(app, 'a', async () => {
    const read = stored;
    await pause();
    shown = read;
  });
  stored = 2;
  app.store.events.dispatchEvent(changed('a'));
  const stop = await mounted;
  await drawnAgain();
  assert.equal(shown, 2);
  stop();
  stored = 3;
  app.store.events.dispatchEvent(changed('a'));
  await drawnAgain();
  assert.equal(shown, 2, 'stopped is stopped');
});

test('a screen that cannot be drawn follows nothing', async () => {
  const app = { store: { events: new EventTarget(), job: async () => ({ job: {} }) } };
  let drawn = 0;
  await assert.rejects(
    live(app, 'a', async () => {
      drawn += 1;
      throw new Error('gone');
    })
  );
  app.store.events.dispatchEvent(changed('a'));
  await drawnAgain();
  assert.equal(drawn, 1);
});
