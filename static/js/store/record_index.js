/**
 * Which records a job has, by kind and by run, kept as entries come: nobody goes through all of them for one.
 */

/** @typedef {import('../records/fold.js').Register} Register */
/** @typedef {{kind: string, id: string, registers: Map<string, Register>, removals: Map<string, unknown>}} Slot */
/**
 * Records of one kind by run. `changed`: those that may have gone from one run to another.
 * @typedef {{runOf: Map<string, unknown>, ids: Map<unknown, Set<string>>, changed: Set<string>}} ByRun
 */

export class RecordIndex {
  /** @type {Map<string, string[]>} kind to its ids */
  #ids = new Map();
  /** @type {Set<string>} kinds of which an id came that is not the last in order */
  #unsorted = new Set();
  /** @type {Map<string, Set<string>>} kind to the ids of which a removal was ever told */
  #removals = new Map();
  /** @type {Map<string, ByRun>} */
  #runs = new Map();
  /** @type {Map<string, Slot>} those in which values may compete, by kind and id; most records never do */
  contested = new Map();

  /** Take in what an entry did to a record. @param {string} key @param {Slot} slot @param {boolean} isNew */
  add(key, slot, isNew) {
    const { kind, id } = slot;
    if (isNew) {
      const ids = this.#ids.get(kind) ?? [];
      if (ids.length === 0) this.#ids.set(kind, ids);
      else if (id < ids[ids.length - 1]) this.#unsorted.add(kind);
      ids.push(id);
    }
    if (mayConflict(slot)) this.contested.set(key, slot);
    else this.contested.delete(key);
    if (slot.registers.has('removed')) {
      const removals = this.#removals.get(kind) ?? new Set();
      this.#removals.set(kind, removals.add(id));
    }
    this.#runs.get(kind)?.changed.add(id);
  }

  /** @param {string} kind @returns {readonly string[]} its ids in order, not to be changed */
  of(kind) {
    const ids = this.#ids.get(kind) ?? [];
    if (this.#unsorted.delete(kind)) ids.sort();
    return ids;
  }

  /** @param {string} kind @returns {string[]} in order, those that may be removed */
  mayBeRemoved(kind) {
    return [...(this.#removals.get(kind) ?? [])].sort();
  }

  /**
   * @param {string} kind @param {string} runId @param {(id: string) => unknown} runOf the run of a record now
   * @returns {string[]} ids of its records, in order
   */
  ofRun(kind, runId, runOf) {
    let by = this.#runs.get(kind);
    if (!by) {
      by = { runOf: new Map(), ids: new Map(), changed: new Set(this.of(kind)) };
      this.#runs.set(kind, by);
    }
    for (const id of by.changed) {
      const run = runOf(id);
      by.ids.get(by.runOf.get(id))?.delete(id);
      by.runOf.set(id, run);
      const ids = by.ids.get(run);
      if (ids) ids.add(id);
      else by.ids.set(run, new Set([id]));
    }
    by.changed.clear();
    return [...(by.ids.get(runId) ?? [])].sort();
  }
}

/** @param {Slot} slot @returns {boolean} */
function mayConflict({ registers, removals }) {
  if (removals.size > 0) return true;
  for (const { standing } of registers.values()) if (standing.size > 1) return true;
  return false;
}
