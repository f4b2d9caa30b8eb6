/** Entries on the disk that somebody lacks: found by counting, without reading those that are known. */

import { heldOf } from '../records/vectors.js';

/** @typedef {import('./job_view.js').Entry} Entry */
/**
 * `fewer`: the disk has fewer than are known.
 * @typedef {{entries: Entry[], fewer: boolean}} Beyond
 */

const PARTS = 16;
const WALKED = 4; // writers

/**
 * Rows of a job lie by writer and number, without a gap, and none is ever taken out: where a span of writers
 * has as many as are known, it has nothing else. Only where it has more, its parts are looked at.
 */
export class EntriesBeyond {
  #open = 0;

  /**
   * @param {IDBObjectStore} rows @param {string} jobId @param {Object<string, number>} have
   * @param {Beyond} found where they are put
   */
  constructor(rows, jobId, have, found) {
    this.rows = rows;
    this.jobId = jobId;
    this.have = have;
    this.found = found;
    this.writers = Object.keys(have).sort();
  }

  /** @param {() => void} done */
  read(done) {
    this.done = done;
    this.#split(0, this.writers.length);
  }

  /** @param {number} from @param {number} to places of writers */
  #split(from, to) {
    const step = Math.max(1, Math.ceil((to - from) / PARTS));
    for (let at = from; at < to; at += step) this.#count(at, Math.min(to, at + step));
  }

  /** All from one writer up to another; before the first and behind the last too.
   * @param {number} from @param {number} to @returns {IDBKeyRange} */
  #span(from, to) {
    const { jobId, writers } = this;
    const first = from === 0 ? [jobId] : [jobId, writers[from]];
    const last = to === writers.length ? [jobId, []] : [jobId, writers[to]];
    return IDBKeyRange.bound(first, last, false, true);
  }

  /** @param {number} from @param {number} to */
  #count(from, to) {
    let known = 0;
    for (let at = from; at < to; at += 1) known += heldOf(this.have, this.writers[at]);
    this.#open += 1;
    const request = this.rows.count(this.#span(from, to));
    request.onsuccess = () => {
      if (request.result < known) this.found.fewer = true;
      else if (request.result > known) {
        if (to - from > WALKED) this.#split(from, to);
        else this.#walk(from, to);
      }
      this.#ended();
    };
  }

  /** @param {number} from @param {number} to */
  #walk(from, to) {
    const { rows, jobId, have, found } = this;
    this.#open += 1;
    const walk = rows.openKeyCursor(this.#span(from, to));
    walk.onsuccess = () => {
      const cursor = walk.result;
      if (!cursor) return this.#ended();
      const [, writer, number] = /** @type {[string, string, number]} */ (cursor.key);
      const held = heldOf(have, writer);
      if (number <= held) return cursor.continue([jobId, writer, held + 1]);
      const beyond = rows.getAll(IDBKeyRange.bound([jobId, writer, held + 1], [jobId, writer, Infinity]));
      beyond.onsuccess = () => {
        for (const entry of beyond.result) found.entries.push(entry);
        cursor.continue([jobId, writer, []]);
      };
      return undefined;
    };
  }

  #ended() {
    this.#open -= 1;
    if (this.#open === 0) this.done?.();
  }
}
