/** A fold that looks at a record when somebody asks for it: of most one entry tells, and few are ever shown. */

import { Fold } from '../records/fold.js';

/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../records/fold.js').SurveyRecord} SurveyRecord */
/** @typedef {import('./record_index.js').Slot} Slot */

/** @type {Slot['registers']} */
const NO_REGISTERS = new Map();
/** @type {Slot['removals']} */
const NO_REMOVALS = new Map();

export class LateFold {
  #fold = new Fold();
  /** @type {Map<string, Entry>} by kind and id, the one entry that tells of a record */
  #only = new Map();

  /** @returns {boolean} whether nothing tells of any record */
  get isEmpty() {
    return this.#only.size === 0 && this.#fold.slots.size === 0;
  }

  /** @param {string} key kind and id @returns {boolean} whether anything tells of a record */
  has(key) {
    return this.#only.has(key) || this.#fold.slots.has(key);
  }

  /** @param {string} key kind and id @returns {Entry | undefined} the entry that alone tells of a record */
  only(key) {
    return this.#only.get(key);
  }

  /**
   * @param {string} key kind and id of its record
   * @param {Entry} entry
   * @returns {Slot} what may compete in its record: in one of which a single entry tells nothing does
   */
  add(key, entry) {
    const first = this.#only.get(key);
    if (!first && !this.#fold.slots.has(key) && isPlain(entry)) {
      this.#only.set(key, entry);
      return { kind: entry.kind, id: entry.record_id, registers: NO_REGISTERS, removals: NO_REMOVALS };
    }
    if (first) {
      this.#only.delete(key);
      this.#fold.add(first);
    }
    return this.#fold.add(entry);
  }

  /** @param {string} kind @param {string} id @returns {SurveyRecord | undefined} */
  record(kind, id) {
    const only = this.#only.get(`${kind}/${id}`);
    return (only ? new Fold([only]) : this.#fold).record(kind, id);
  }

  /** @returns {SurveyRecord[]} all, as a fold of all entries gives them */
  records() {
    for (const entry of this.#only.values()) this.#fold.add(entry);
    this.#only.clear();
    return this.#fold.records();
  }
}

/** @param {Entry} entry @returns {boolean} whether its fields are the record, as long as it is alone */
function isPlain({ fields, seen }) {
  return !Object.hasOwn(fields, 'removed') && (!seen || Object.keys(seen).length === 0);
}
