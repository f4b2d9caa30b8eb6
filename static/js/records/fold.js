/** The fold: entries in, records out. Twin of webapp/records/fold.py. */

/** @typedef {import('./types.js').Kind} Kind */
/** @typedef {import('./types.js').FieldsByName} FieldsByName */
/** @typedef {import('./types.js').FieldValue} FieldValue */
/** @typedef {Object<string, string[]>} Standing   by field, the entries whose values stand */
/**
 * @typedef {{job_id: string, writer: string, number: number, device_id: string, record_id: string, kind:
 *   string, fields: Object<string, FieldValue>, seen?: Standing, recorded_at: string, erased?:
 *   import('./erasure.js').About}} Entry
 */
/**
 * One record of a kind as it stands: what is shown, and everything that competes with it.
 * @template {Kind} K
 * @typedef {{id: string, kind: K, fields: import('./types.js').FieldsByKind[K], removed: boolean,
 *   conflicts: import('./types.js').Disputed, standing: Standing, unusable?: string[]}} RecordOf
 *   `unusable`: computed, fields taken out because their value is not whole
 */
/** @typedef {{[K in Kind]: RecordOf<K>}[Kind]} SurveyRecord   of any kind: `kind` says which */
/** @typedef {{standing: Map<string, FieldValue>, replaced: Set<string>}} Register */

export const EVERYTHING = '*';
/** @type {Map<string, string[]>} */
const NOTHING_SEEN = new Map();

/** @param {{writer: string, number: number}} entry @returns {string} */
export function entryId(entry) {
  return `${entry.writer}:${entry.number}`;
}

/**
 * Order of the fixed rule: of several standing values the greatest is shown.
 * @param {string} a
 * @param {string} b
 * @returns {number}
 */
export function compareIds(a, b) {
  const [writerA, numberA] = split(a);
  const [writerB, numberB] = split(b);
  if (numberA !== numberB) return numberA - numberB;
  return writerA < writerB ? -1 : writerA > writerB ? 1 : 0;
}

/** @param {string} id @returns {[string, number]} */
function split(id) {
  const at = id.lastIndexOf(':');
  return [id.slice(0, at), Number(id.slice(at + 1))];
}

/** One spelling of a JSON value, for comparing. @param {unknown} value @returns {string} */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value && typeof value === 'object') {
    const parts = /** @type {Object<string, unknown>} */ (value);
    return `{${Object.keys(parts)
      .sort()
      .map((k) => `${JSON.stringify(k)}:${canonical(parts[k])}`)
      .join(',')}}`;
  }
  return JSON.stringify(value) ?? 'null';
}

/** Takes entries in any order, any number of times; gives records. */
export class Fold {
  /** @param {Iterable<Entry>} [entries] */
  constructor(entries = []) {
    /**
     * @type {Map<string, {kind: string, id: string, registers: Map<string, Register>, removals: Map<string,
     *   Set<string>>}>}
     */
    this.slots = new Map();
    for (const entry of entries) this.add(entry);
  }

  /**
   * @param {Entry} entry
   * @returns {{kind: string, id: string, registers: Map<string, Register>, removals: Map<string,
   *   Set<string>>}} what is known of its record
   */
  add(entry) {
    const key = `${entry.kind}/${entry.record_id}`;
    let slot = this.slots.get(key);
    if (!slot) {
      slot = { kind: entry.kind, id: entry.record_id, registers: new Map(), removals: new Map() };
      this.slots.set(key, slot);
    }
    const identity = entryId(entry);
    const seen = entry.seen ? new Map(Object.entries(entry.seen)) : NOTHING_SEEN;
    for (const [name, value] of Object.entries(entry.fields)) {
      let register = slot.registers.get(name);
      if (!register) {
        register = { standing: new Map(), replaced: new Set() };
        slot.registers.set(name, register);
      }
      for (const old of seen.get(name) ?? []) {
        register.standing.delete(old);
        register.replaced.add(old);
      }
      if (!register.replaced.has(identity)) register.standing.set(identity, value);
    }
    if (entry.fields.removed) slot.removals.set(identity, new Set(seen.get(EVERYTHING) ?? []));
    return slot;
  }

  /** @returns {SurveyRecord[]} */
  records() {
    return [...this.slots.keys()].sort().map((key) => this.#record(key));
  }

  /** @param {string} kind @param {string} id @returns {SurveyRecord | undefined} */
  record(kind, id) {
    const key = `${kind}/${id}`;
    return this.slots.has(key) ? this.#record(key) : undefined;
  }

  /** @param {string} key @returns {SurveyRecord} */
  #record(key) {
    const slot = /** @type {NonNullable<ReturnType<Fold['slots']['get']>>} */ (this.slots.get(key));
    /** @type {Omit<SurveyRecord, 'fields'> & {fields: FieldsByName}} */
    const record = {
      id: slot.id,
      kind: /** @type {Kind} */ (slot.kind),
      fields: {},
      conflicts: {},
      standing: {},
      removed: false
    };
    for (const name of [...slot.registers.keys()].sort()) {
      const { standing } = /** @type {Register} */ (slot.registers.get(name));
      const ids = [...standing.keys()].sort(compareIds);
      if (ids.length === 0) continue;
      record.standing[name] = ids;
      record.fields[name] = /** @type {FieldValue} */ (standing.get(ids[ids.length - 1]));
      if (ids.length > 1 && new Set(ids.map((id) => canonical(standing.get(id)))).size > 1) {
        record.conflicts[name] = ids.map((id) => [id, /** @type {FieldValue} */ (standing.get(id))]);
      }
    }
    settleRemoval(/** @type {SurveyRecord} */ (record), slot.removals);
    return /** @type {SurveyRecord} */ (record);
  }
}

/** A removal that had not seen a standing change is a conflict, and the record stays.
 * @param {SurveyRecord} record @param {Map<string, Set<string>>} removals */
function settleRemoval(record, removals) {
  const removed = record.fields.removed ?? false;
  delete record.fields.removed;
  record.removed = Boolean(removed) && !('removed' in record.conflicts);
  if (!record.removed) return;
  const own = new Set(record.standing.removed);
  /** @type {Set<string>} */
  const known = new Set();
  for (const id of own) for (const one of removals.get(id) ?? []) known.add(one);
  /** @type {Set<string>} */
  const unseen = new Set();
  for (const [name, ids] of Object.entries(record.standing)) {
    if (name === 'removed') continue;
    for (const id of ids) if (!known.has(id) && !own.has(id)) unseen.add(id);
  }
  if (unseen.size === 0) return;
  record.removed = false;
  record.conflicts.removed = [
    [record.standing.removed[record.standing.removed.length - 1], true],
    ...[...unseen].sort(compareIds).map((id) => /** @type {[string, FieldValue]} */ ([id, false]))
  ];
}
