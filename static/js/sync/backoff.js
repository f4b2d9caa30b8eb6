/** How long to wait after failures: doubling, with full jitter, never more than five minutes. */

export const FIRST_MS = 2000;
export const LONGEST_MS = 5 * 60 * 1000;

/** @param {number} failures in a row, 1 or more @param {() => number} random @returns {number} ms */
export function waitMs(failures, random) {
  const ceiling = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(failures - 1, 20));
  return Math.round(random() * ceiling);
}

/** How many entries go in one request: halved when one fails, doubled back when they pass. */
export class BatchSize {
  static LARGEST = 1000;
  static SMALLEST = 10;

  size = BatchSize.LARGEST;

  shrink() {
    this.size = Math.max(BatchSize.SMALLEST, Math.floor(this.size / 2));
  }

  grow() {
    this.size = Math.min(BatchSize.LARGEST, this.size * 2);
  }
}
