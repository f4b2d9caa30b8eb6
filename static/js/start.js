/** Starts the app. The joined script begins here and leaves what it made under `fallbook` (see main.js). */

import { isoStamp, makeIds } from './store/ids.js';
import { PageKeeper } from './store/page_keeper.js';
import { openStore } from './store/store.js';
import { makeSync } from './sync/engine.js';
import { makeInstall } from './pwa/install.js';
import { makeKept } from './pwa/kept.js';
import { makeSecondPart } from './pwa/second_part.js';
import { makeUpdate } from './pwa/update.js';
import { pageRelease } from './pwa/worker.js';
import { makeStorageCare } from './pwa/storage.js';
import { shrink } from './photos/photo_prepare.js';
import { watchStorage } from './forms/lost_storage.js';
import { startRouter } from './router.js';
import { startFailed } from './ui/broken_pages.js';
import { takeWords } from './text/words.js';

/** @typedef {import('./ui/types.js').App} App
 */

/**
 * @typedef {{app: App, ready: Promise<void>, module: (path: string) => any}} Running
 *   `module('survey/levels/levels.js')`: what it exports
 */

const SEEN_WITHIN_MS = 500;
const now = () => new Date();

/** What is missing comes with `start`. */
export const app = /** @type {App} */ ({ now, newId: makeIds(now), newIsoStamp: () => isoStamp(now()) });

/**
 * The field descriptions, the tables and the sentences in one file, which the page has named and begun to
 * fetch.
 * @returns {Promise<Pick<App, 'fields' | 'tables'>>}
 */
async function data() {
  const url = /** @type {HTMLLinkElement} */ (document.getElementById('data')).href;
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  const found = await answer.json();
  takeWords(found.messages);
  return found;
}

async function start() {
  app.update = makeUpdate();
  app.install = makeInstall();
  app.kept = makeKept();
  app.second = makeSecondPart();
  const [store, { fields, tables }] = await Promise.all([
    openStore({ ...app, release: pageRelease() }, { jobs: location.pathname === '/' }),
    data()
  ]);
  Object.assign(app, { store, fields, tables });
  watchStorage(app);
  app.storage = makeStorageCare(store);
  app.sync = makeSync({
    store,
    fetch: globalThis.fetch.bind(globalThis),
    locks: navigator.locks,
    now,
    random: Math.random,
    shrink
  });
  void startRouter(app, root())
    .then(painted)
    .then(() => {
      app.sync.start();
      new PageKeeper(store).start();
      void app.storage.look();
      app.second.follow(app.kept);
      void app.update.start().then(() => app.kept.start());
    });
}

/** What can wait does, until the first screen is seen. @returns {Promise<void>} */
function painted() {
  return new Promise((resolve) => {
    requestAnimationFrame(() => setTimeout(resolve));
    setTimeout(resolve, SEEN_WITHIN_MS); // a page in the background paints nothing
  });
}

/** @returns {HTMLElement} */
function root() {
  return document.getElementById('app') ?? document.body;
}

// In a task of its own: a stack trace taken on the way would otherwise have the browser read the whole script
// once more.
export const ready = Promise.resolve().then(start);
ready.catch((error) => startFailed(root(), error));
