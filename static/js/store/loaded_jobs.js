/** The jobs that are in memory, each loaded once and brought up to the disk when it may be behind. */

import { beginWithPages, loadJob } from './entry_rows.js';
import { JobView } from './job_view.js';

/** @typedef {import('./db.js').Database} Database */

export class LoadedJobs {
  /** @type {Map<string, JobView>} */
  #views = new Map();
  /** @type {Map<string, Promise<JobView>>} jobs that are being read from the disk */
  #loads = new Map();
  /** @type {Set<string>} jobs whose memory may be behind the disk */
  #stale = new Set();
  /** Of the app: only its own pages are believed; none where it has no name. */
  release = '';

  /** @param {Database} db */
  constructor(db) {
    this.db = db;
  }

  /** Somebody else may have written to the job. @param {string} [jobId] to any when left out */
  outdate(jobId) {
    for (const each of jobId === undefined ? this.#views.keys() : [jobId]) this.#stale.add(each);
  }

  /** @returns {JobView[]} those with anything in them */
  inMemory() {
    return [...this.#views.values()].filter((view) => view.byWriter.size > 0);
  }

  /** @param {string} jobId @returns {Promise<JobView>} one and the same view as long as the app is open */
  async get(jobId) {
    const known = this.#loads.get(jobId) ?? this.#views.get(jobId);
    if (known && !this.#stale.has(jobId)) return known;
    this.#stale.delete(jobId);
    const load = this.#load(jobId);
    // Whoever asks meanwhile waits for the same: the view as it was before would be behind the disk.
    this.#loads.set(jobId, load);
    try {
      return await load;
    } catch (error) {
      this.#stale.add(jobId);
      throw error;
    } finally {
      if (this.#loads.get(jobId) === load) this.#loads.delete(jobId);
    }
  }

  /** @param {string} jobId @returns {Promise<JobView>} */
  async #load(jobId) {
    const view = this.#views.get(jobId) ?? new JobView(jobId);
    if (!this.#views.has(jobId)) await beginWithPages(this.db, view, this.release);
    await loadJob(this.db, view);
    // Two may have loaded at once; the first one's view stays the one and only.
    const first = this.#views.get(jobId) ?? view;
    this.#views.set(jobId, first);
    return first;
  }
}
