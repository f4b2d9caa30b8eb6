/**
 * A large job by pages: a copy of its entries as they were at a vector, of which a page is opened when
 * somebody asks for a record on it. The entries stay the only truth: what does not agree with them is thrown
 * away, and the job read whole.
 *
 * A page holds all entries of the records of one kind and run. What is not plain (set aside, erased, removed,
 * in conflict, of an odd shape) stands on loose pages, which are opened at once.
 */

import { stampLines } from '../records/erasure.js';

/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('../records/fold.js').Standing} Standing */
/** @typedef {import('../records/erasure.js').Act} Act */
/**
 * Where a page lies. `first`: of its records among all ids; `writers`: places in the list of all.
 * @typedef {{kind: string, run: string | null, part: number, from: number, to: number, first: number,
 *   records: number, entries: number, writers: number[]}} Page
 */
/**
 * `acts`, `marks`, `life`: what was erased, set aside and put away when they were made; `counts`: the vector.
 * @typedef {{format: number, release: string, job_id: string, life: string, acts: string, marks:
 *   Array<[string, string]>, writers: string[], counts: number[], devices: string[], pages: Page[], parts:
 *   Array<{length: number, sum: number}>, ids: number}} About
 */
/**
 * A row of the database: of what is whole, of what a copy is, or of its bytes.
 * @typedef {{job_id: string, name: string, at: number, made?: string, whole?: string, about?: string,
 *   sum?: number, ids?: Uint32Array, bytes?: Uint8Array}} PageRow
 */
/** @typedef {[number, number, number, string, string, Entry['fields'], Standing?]} EntryRow */

export const FORMAT = 1; // another whenever the fold, the index or what stands below changes
export const LOOSE = '';
export const WORDS = 4; // of 32 bits in an id
const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;

/** @param {string} id @returns {number[] | undefined} the words of an id, in its order; none of an odd one */
export function wordsOf(id) {
  if (!UUID.test(id)) return undefined;
  const digits = id.replaceAll('-', '');
  return [0, 8, 16, 24].map((at) => Number.parseInt(digits.slice(at, at + 8), 16));
}

/** @param {Uint8Array} bytes @returns {number} another as soon as any four of them differ */
export function sumOf(bytes) {
  const whole = bytes.byteLength >> 2;
  let sum = bytes.byteLength;
  const words = bytes.byteOffset % 4 ? new Uint32Array(bytes.slice(0, whole * 4).buffer) : undefined;
  const read = words ?? new Uint32Array(bytes.buffer, bytes.byteOffset, whole);
  for (let at = 0; at < whole; at += 1) sum = Math.imul(sum ^ read[at], 0x01000193);
  for (let at = whole * 4; at < bytes.byteLength; at += 1) sum = Math.imul(sum ^ bytes[at], 0x01000193);
  return sum >>> 0;
}

/**
 * @param {PageRow[]} rows as they lie on the disk @param {string} jobId @param {string} release of the app
 * @returns {Pages | undefined} none where anything of them is not as it was made, or not of this app
 */
export function pagesOf(rows, jobId, release) {
  try {
    const [head, ...rest] = rows;
    const text = new TextEncoder().encode(head.about);
    if (!head.about || sumOf(text) !== head.sum || !head.ids) return undefined;
    const about = /** @type {About} */ (JSON.parse(head.about));
    const own = about.format === FORMAT && about.release === release && about.job_id === jobId;
    if (!own || rest.length !== about.parts.length) return undefined;
    const parts = rest.map(({ bytes }) => /** @type {Uint8Array} */ (bytes));
    const { ids } = head;
    const whole = about.parts.every(({ length, sum }, at) => {
      return rest[at].at === at + 1 && parts[at].byteLength === length && sumOf(parts[at]) === sum;
    });
    if (!whole || sumOf(new Uint8Array(ids.buffer, ids.byteOffset, ids.byteLength)) !== about.ids)
      return undefined;
    return new Pages(about, ids, parts);
  } catch {
    return undefined; // not even of the right shape
  }
}

export class Pages {
  /** @type {Map<string, Set<number>>} kind to its pages that are not open yet */
  #closed = new Map();
  #text = new TextDecoder();
  /** @type {Map<string, number>} */
  #writers;

  /** @param {About} about @param {Uint32Array} ids @param {Uint8Array[]} parts */
  constructor(about, ids, parts) {
    this.about = about;
    this.ids = ids;
    this.parts = parts;
    this.#writers = new Map(about.writers.map((writer, at) => [writer, at]));
    about.pages.forEach(({ kind }, at) => {
      this.#closed.set(kind, (this.#closed.get(kind) ?? new Set()).add(at));
    });
  }

  /** @returns {boolean} whether every page was opened */
  get done() {
    return this.#closed.size === 0;
  }

  /** @returns {number} how many entries it holds */
  get total() {
    return this.about.counts.reduce((sum, count) => sum + count, 0);
  }

  /** Whether what was erased is the same. @param {Act[]} acts */
  knows(acts) {
    return stampLines(acts) === this.about.acts;
  }

  /** @returns {number[]} all that are not open yet */
  left() {
    return [...this.#closed.values()].flatMap((some) => [...some]);
  }

  /** @param {string} kind @returns {number[]} its pages that are not open yet */
  of(kind) {
    return [...(this.#closed.get(kind) ?? [])];
  }

  /** @param {string} kind @param {unknown} run @returns {number[]} those that are not open yet */
  ofRun(kind, run) {
    const name = typeof run === 'string' ? run : null;
    return this.of(kind).filter((at) => this.about.pages[at].run === name);
  }

  /** @param {string} run @returns {boolean} whether anything of a run is not open yet */
  lacks(run) {
    return this.left().some((at) => this.about.pages[at].run === run);
  }

  /** @param {string} writer @returns {number[]} those that are not open yet and hold an entry of it */
  ofWriter(writer) {
    const place = this.#writers.get(writer) ?? -1;
    return this.left().filter((at) => this.about.pages[at].writers.includes(place));
  }

  /** @param {string} kind @param {string} id @returns {number[]} the page of a record that is not open yet */
  holding(kind, id) {
    const closed = this.#closed.get(kind);
    const words = closed && wordsOf(id);
    if (!words) return [];
    for (const at of closed) if (this.#has(this.about.pages[at], words)) return [at];
    return [];
  }

  /** @param {Page} page @param {number[]} words @returns {boolean} */
  #has({ first, records }, words) {
    let [low, high] = [first, first + records - 1];
    while (low <= high) {
      const middle = (low + high) >> 1;
      const order = this.#compare(middle, words);
      if (order === 0) return true;
      if (order < 0) low = middle + 1;
      else high = middle - 1;
    }
    return false;
  }

  /** @param {number} place among the ids @param {number[]} words @returns {number} */
  #compare(place, words) {
    for (let at = 0; at < WORDS; at += 1) {
      const difference = this.ids[place * WORDS + at] - words[at];
      if (difference !== 0) return difference;
    }
    return 0;
  }

  /** @param {number} at @returns {Entry[]} all entries of a page, which is open from now on */
  open(at) {
    const { kind, part, from, to } = this.about.pages[at];
    const closed = this.#closed.get(kind);
    closed?.delete(at);
    if (closed?.size === 0) this.#closed.delete(kind);
    const rows = JSON.parse(this.#text.decode(this.parts[part].subarray(from, to)));
    return kind === LOOSE ? rows : rows.map((/** @type {EntryRow} */ row) => this.#entry(kind, row));
  }

  /** @param {string} kind @param {EntryRow} row @returns {Entry} */
  #entry(kind, [writer, number, device, record_id, recorded_at, fields, seen]) {
    const { job_id, writers, devices } = this.about;
    /** @type {Entry} */
    const entry = {
      job_id,
      writer: writers[writer],
      number,
      device_id: devices[device],
      record_id,
      kind,
      fields,
      recorded_at
    };
    if (seen) entry.seen = seen;
    return entry;
  }
}
