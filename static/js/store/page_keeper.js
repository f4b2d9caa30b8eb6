/**
 * Keeps pages of large jobs (pages.js) while nobody does anything: never in the transaction of a save, never
 * where room is short.
 */

import { idle } from './idle.js';
import { randomName } from './ids.js';
import { makePages } from './make_pages.js';
import { beginPages, putPage } from './page_rows.js';

/** @typedef {import('./job_view.js').JobView} JobView */

const LEAST = 5000; // entries: a smaller job is read as quickly without
const FEW = 1000; // entries, or a share of all, that may stand beside the pages
const SHARE = 0.05;
const QUIET_MS = 20_000;
const WORK_MS = 8;
const ROOM = 0.5; // of what the browser allows, from which on none are kept
const LOCK = 'fallbook-pages';

/** @param {JobView} view @returns {boolean} whether too much of it stands beside its pages */
export function needsPages(view) {
  const total = view.countBeyond({});
  return total >= LEAST && total - view.paged > Math.max(FEW, SHARE * total);
}

export class PageKeeper {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;

  /** @param {import('./job_store.js').JobStore} store @param {{quietMs?: number}} [how] */
  constructor(store, { quietMs = QUIET_MS } = {}) {
    this.store = store;
    this.quietMs = quietMs;
  }

  /** From now on, whenever nothing has changed for a while. */
  start() {
    if (!this.store.release) return;
    this.store.events.addEventListener('changed', () => this.#later());
    this.#later();
  }

  #later() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.look().catch(() => undefined), this.quietMs);
  }

  /** @returns {Promise<void>} once every job in memory that needs pages has them */
  async look() {
    const { locks, storage } = navigator;
    const { usage = 0, quota = 0 } = (await storage?.estimate?.().catch(() => undefined)) ?? {};
    if (quota > 0 && usage > ROOM * quota) return;
    const all = async () => {
      for (const view of this.store.inMemory())
        if (needsPages(view) && !this.store.db.short) await this.keep(view);
    };
    if (!locks) await all();
    else await locks.request(LOCK, { ifAvailable: true }, async (lock) => (lock ? all() : undefined));
  }

  /** @param {JobView} view @returns {Promise<boolean>} whether its pages are on the disk now */
  async keep(view) {
    const { db, release } = this.store;
    const name = randomName(10);
    await beginPages(db, view.jobId, name);
    // What was erased before the name was taken is known by now.
    if ((await this.store.fromDisk(view.jobId)) !== view) return false;
    const work = makePages(view, release);
    let at = 0;
    for (;;) {
      await idle();
      const until = performance.now() + WORK_MS;
      let step = work.next();
      while (!step.done && !step.value && performance.now() < until) step = work.next();
      if (step.done) {
        if (!step.value) return false;
        const { about, sum, ids, entries } = step.value;
        const whole = await putPage(db, { job_id: view.jobId, name, at: 0, about, sum, ids });
        if (whole) view.paged = entries;
        return whole;
      }
      if (step.value) {
        at += 1;
        const row = { job_id: view.jobId, name, at, bytes: step.value };
        if (!(await putPage(db, row))) return false;
      }
    }
  }
}
