/**
 * What is open in a large job of which this phone has not opened every page yet: counted a little at a time
 * while the screen is shown, so that nobody waits for it.
 */
import { figuresOf } from '../parts/figures_of.js';
import { openInRecords } from './leave_state.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */

const FIRST_AFTER_MS = 1500; // the screen stands by then

/**
 * @param {App} app @param {HeldJob} view
 * @returns {ReturnType<typeof openInRecords> | null} null: not counted yet
 */
export function openSoFar(app, view) {
  return view.pages ? null : openInRecords(app, view);
}

/**
 * @param {App} app @param {string} jobId @param {() => Promise<void>} draw once it is counted
 * @returns {() => void} ends it
 */
export function countLater(app, jobId, draw) {
  let ended = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const work = async (/** @type {import('../../ui/types.js').JobView} */ view) => {
    while (view.pages && !ended) {
      await app.store.idle();
      view.open(view.pages?.left().slice(0, 1) ?? []);
    }
    for (const run of view.records('run')) {
      await app.store.idle();
      if (ended || !view.job) return;
      void figuresOf(app, /** @type {HeldJob} */ (view), run).source;
    }
    if (!ended) await draw();
  };
  void app.store.job(jobId).then((view) => {
    // Whoever looks at the screen may open the rest meanwhile: what it says of it is drawn all the same.
    if (view.pages && !ended) timer = setTimeout(() => void work(view), FIRST_AFTER_MS);
  });
  return () => {
    ended = true;
    clearTimeout(timer);
  };
}
