/** How long to wait after failures: doubling, with full jitter, never more than five minutes. */

export const FIRST_MS = 2000;
export const MAX_MS = 5 * 60 * 1000;

/** @param {number} failures in a row, 1 or more @param {() => number} random @returns {number} ms */
export function waitMs(failures, random) {
  const ceiling = Math.min(MAX_MS, FIRST_MS * 2 ** Math.min(failures - 1, 20));
  return Math.round(random() * ceiling);
}

/** How much goes in one request: halved when one fails, doubled back when they pass. */
class Amount {
  /** @param {number} smallest @param {number} largest */
  constructor(smallest, largest) {
    this.smallest = smallest;
    this.largest = largest;
    this.size = largest;
  }

  /** @param {number} [tried] how much it was, where that was less than it might have been */
  shrink(tried = this.size) {
    this.size = Math.max(this.smallest, Math.floor(Math.min(this.size, tried) / 2));
  }

  grow() {
    this.size = Math.min(this.largest, this.size * 2);
  }

  /** @returns {boolean} whether nothing broke off lately */
  get untroubled() {
    return this.size === this.largest;
  }
}

/** How many entries go in one request: a guess at first, then at most what the server says that it takes. */
export class BatchSize extends Amount {
  constructor() {
    super(10, 5000);
  }

  /** @type {unknown} */
  #limits;

  /**
   * @param {unknown} most `max_entries` of an answer; earlier servers do not say it
   * @param {unknown} [limits] changes when the server's limits do: what was learned of others is forgotten
   */
  heard(most, limits) {
    if (typeof most !== 'number' || !(most >= 1)) return;
    const anew = this.untroubled || (this.#limits !== undefined && limits !== this.#limits);
    this.size = anew ? most : Math.min(this.size, most);
    this.largest = most;
    this.#limits = limits;
  }
}

/** How many bytes of a photo go in one request: what a poor link passes before it breaks off. */
export class PieceSize extends Amount {
  /**
   * Whether photos may share a request: not from one that broke off to a run that did not; small pieces prove
   * little.
   */
  together = true;

  constructor() {
    super(32 * 1024, 1024 * 1024);
  }

  /** @param {number} [tried] */
  shrink(tried) {
    super.shrink(tried);
    this.together = false;
  }
}
