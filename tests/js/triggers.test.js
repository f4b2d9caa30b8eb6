import assert from 'node:assert/strict';
import { mock, test } from 'node:test';
import { startTriggers } from '../../static/js/sync/triggers.js';

/** A sync that notes who ran it. */
function fakeSync() {
  return {
    store: { events: new EventTarget() },
    events: new EventTarget(),
    status: { state: 'unsent', unsent: 1, photos_unsent: 0 },
    busy: false,
    failures: 0,
    sinceLastTryMs: 0,
    runs: [],
    async run({ by }) {
      this.runs.push(by);
    },
    async refresh() {}
  };
}

test('what is saved while a long run sends photos goes soon after it', () => {
  mock.timers.enable({ apis: ['setTimeout', 'setInterval'] });
  try {
    const sync = fakeSync();
    const stop = startTriggers(sync);
    sync.busy = true;
    sync.store.events.dispatchEvent(new Event('changed'));
    mock.timers.tick(60_000);
    assert.deepEqual(sync.runs, ['open'], 'one run at a time');
    sync.busy = false;
    mock.timers.tick(2_000);
    assert.deepEqual(sync.runs, ['open', 'save']);
    stop();
    sync.store.events.dispatchEvent(new Event('changed'));
    mock.timers.tick(600_000);
    assert.deepEqual(sync.runs, ['open', 'save'], 'stopped is stopped');
  } finally {
    mock.timers.reset();
  }
});

test('with nothing unsent a change from the server starts no run', () => {
  mock.timers.enable({ apis: ['setTimeout', 'setInterval'] });
  try {
    const sync = fakeSync();
    sync.status.unsent = 0;
    const stop = startTriggers(sync);
    sync.store.events.dispatchEvent(new Event('changed'));
    mock.timers.tick(10_000);
    assert.deepEqual(sync.runs, ['open']);
    stop();
  } finally {
    mock.timers.reset();
  }
});
