/** The exchange without a page: run by the service worker when the browser says that there is signal. */

import { makeIds } from '../store/ids.js';
import { openStore } from '../store/store.js';
import { makeSync } from './engine.js';

/** @returns {Promise<void>} rejects when the server was not reached, so that the browser tries again later */
export async function runFromWorker() {
  const now = () => new Date();
  const store = await openStore({ newId: makeIds(now), now });
  const sync = makeSync({
    store,
    fetch: globalThis.fetch.bind(globalThis),
    locks: navigator.locks,
    now,
    random: Math.random
  });
  const result = await sync.run({ by: 'worker' });
  // A page that is sending at this moment ("busy") sends these too.
  if (result.state === 'offline' || result.state === 'failed') throw new Error(result.code ?? result.state);
}
