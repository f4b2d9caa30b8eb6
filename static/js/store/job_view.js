/**
 * One job as it stands on this phone: its entries in memory, folded as they come. Those on pages (pages.js)
 * that nobody has asked for yet are holes in `byWriter`, and not in the fold.
 */

import { CODE, erasedPlaces, frameOf, standing } from '../records/erasure.js';
import { canonical, compareIds, entryId } from '../records/fold.js';
import { heldOf } from '../records/vectors.js';
import { usable } from '../survey/composites.js';
import { LateFold } from './late_fold.js';
import { RecordIndex } from './record_index.js';

/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../records/erasure.js').ErasedEntry} ErasedEntry */
/** @typedef {import('../records/fold.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../records/types.js').AnyFields} AnyFields */
/** @typedef {import('../records/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../records/types.js').FieldsByKind} FieldsByKind */
/** @typedef {import('../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../records/fold.js').Standing} Standing */
/** @template {Kind} K @typedef {import('../records/fold.js').RecordOf<K>} RecordOf */
/** @typedef {{code: string, reasons: Object<string, string[]>}} Aside */
/** @typedef {import('./entry_rows.js').AsideRow} AsideRow */
/** @typedef {Object<string, number>} Vector */
/**
 * A change to a record. `shown`: the standing entries of the record as the person saw it, by field; absent
 * means as it stands when the change is written. What arrived meanwhile is then not replaced unseen, but
 * shows as a conflict.
 * @template {Kind} K
 * @typedef {{kind: K, record_id: string, fields: FieldsByKind[K], shown?: Standing}} ChangeOf
 */
/** @typedef {{[K in Kind]: ChangeOf<K>}[Kind]} Change   of a record of any kind: `kind` says which */

export class JobView {
  /** @param {string} jobId */
  constructor(jobId) {
    this.jobId = jobId;
    this.fold = new LateFold();
    /** @type {Map<string, Entry[]>} writer to its entries, number 1 first */
    this.byWriter = new Map();
    /** @type {Map<string, Entry[]>} record to all that happened to it */
    this.history = new Map();
    /** @type {Map<string, SurveyRecord>} records as last folded */
    this.known = new Map();
    this.index = new RecordIndex();
    /** @type {Map<string, unknown[]>} kind to its standing records, until one of them changes */
    this.lists = new Map();
    /** @type {Map<string, AsideRow>} entry id to why it stands outside the records */
    this.aside = new Map();
    /** @type {import('../records/erasure.js').Act[]} what the office erased */
    this.acts = [];
    /** @type {Map<string, ErasedEntry>} entry id to the frame that is all of it here */
    this.frames = new Map();
    /** @type {Map<string, import('../records/types.js').StretchRecord[]> | undefined} */
    this.places = undefined;
    /** @type {import('./pages.js').Pages | undefined} those of which some are not open yet */
    this.pages = undefined;
    /** How many entries lie on pages on the disk. */
    this.paged = 0;
    /** Another each time the job was put away, in whatever tab. */
    this.life = '';
    /** Whether what is on the disk was replaced, not only added to. */
    this.behind = false;
  }

  /** Forget everything held in memory; the store loads it again. */
  reset() {
    this.fold = new LateFold();
    this.index = new RecordIndex();
    const { byWriter, history, known, lists, aside, frames } = this;
    for (const map of [byWriter, history, known, lists, aside, frames]) map.clear();
    this.pages = undefined;
    this.paged = 0;
    this.behind = false;
  }

  /** Take in all entries of some pages. @param {number[]} which */
  open(which) {
    const { pages } = this;
    if (!pages) return;
    for (const at of which)
      for (const entry of pages.open(at)) {
        /** @type {Entry[]} */ (this.byWriter.get(entry.writer))[entry.number - 1] = entry;
        this.#tell(entry);
      }
    if (pages.done) this.pages = undefined;
  }

  /** Open the page of a record, if it is not open yet. @param {string} kind @param {string} id */
  #openFor(kind, id) {
    if (this.pages) this.open(this.pages.holding(kind, id));
  }

  /** @param {string} writer @param {number} at its place @returns {Entry} one that may be on a page */
  #entryAt(writer, at) {
    const own = /** @type {Entry[]} */ (this.byWriter.get(writer));
    if (!own[at]) this.open(this.pages?.ofWriter(writer) ?? []);
    return own[at];
  }

  /** Take one entry that follows the last one of its writer. @param {Entry} entry */
  add(entry) {
    const own = this.byWriter.get(entry.writer);
    if (own) own.push(entry);
    else this.byWriter.set(entry.writer, [entry]);
    this.#openFor(entry.kind, entry.record_id);
    this.#tell(entry);
  }

  /** What an entry tells of its record. @param {Entry} entry */
  #tell(entry) {
    const mark = this.aside.size > 0 ? this.aside.get(entryId(entry)) : undefined;
    if (entry.erased) this.frames.set(entryId(entry), /** @type {ErasedEntry} */ (entry));
    if (entry.erased || mark?.code === CODE) {
      this.places = undefined;
      return;
    }
    const key = `${entry.kind}/${entry.record_id}`;
    const history = this.history.get(key);
    if (history) history.push(entry);
    else this.history.set(key, [entry]);
    if (mark) return;
    const isNew = !this.fold.has(key);
    this.index.add(key, this.fold.add(key, entry), isNew);
    this.known.delete(key);
    this.lists.delete(entry.kind);
  }

  /** @returns {RecordOf<'job'> | undefined} */
  get job() {
    return this.record('job', this.jobId);
  }

  /**
   * @template {Kind} K
   * @param {K} kind
   * @param {string | null | undefined} id
   * @returns {RecordOf<K> | undefined}
   */
  record(kind, id) {
    const key = `${kind}/${id}`;
    let record = /** @type {RecordOf<K> | undefined} */ (this.known.get(key));
    if (!record) {
      this.#openFor(kind, /** @type {string} */ (id));
      const folded = this.fold.record(kind, /** @type {string} */ (id));
      record = folded && /** @type {RecordOf<K>} */ (usable(folded));
      if (record) this.known.set(key, /** @type {SurveyRecord} */ (record));
    }
    return record;
  }

  /** @template {Kind} K @param {K} kind @returns {RecordOf<K>[]} not removed, in the order of their making */
  records(kind) {
    let list = /** @type {RecordOf<K>[] | undefined} */ (this.lists.get(kind));
    if (!list) {
      if (this.pages) this.open(this.pages.of(kind));
      list = this.#some(kind, this.index.of(kind)).filter((record) => !record.removed);
      this.lists.set(kind, list);
    }
    return [...list];
  }

  /**
   * @template {import('../records/types.js').KindOfRun} K @param {K} kind @param {string} runId
   * @returns {RecordOf<K>[]} those that stand, in the order of their making
   */
  ofRun(kind, runId) {
    if (this.pages) this.open(this.pages.ofRun(kind, runId));
    const ids = this.index.ofRun(kind, runId, (id) => this.runOf(kind, id));
    return this.#some(kind, ids).filter((record) => !record.removed);
  }

  /**
   * Whoever asks for the records of one run needs no other record folded, if one entry tells of each.
   * @param {string} kind @param {string} id @returns {unknown} the run of a record
   */
  runOf(kind, id) {
    const told = this.fold.only(`${kind}/${id}`) ?? this.record(/** @type {Kind} */ (kind), id);
    return /** @type {FieldsByName | undefined} */ (told?.fields)?.run_id;
  }

  /** @template {Kind} K @param {K} kind @returns {RecordOf<K>[]} */
  removed(kind) {
    return this.#some(kind, this.index.mayBeRemoved(kind)).filter((record) => record.removed);
  }

  /** @template {Kind} K @param {K} kind @param {readonly string[]} ids @returns {RecordOf<K>[]} */
  #some(kind, ids) {
    return ids.map((id) => /** @type {RecordOf<K>} */ (this.record(kind, id)));
  }

  /** @returns {Array<{kind: Kind, id: string, field: string, values: Array<[string, FieldValue]>}>} */
  conflicts() {
    const found = [];
    for (const slot of this.index.contested.values()) {
      const record = /** @type {SurveyRecord} */ (this.record(/** @type {Kind} */ (slot.kind), slot.id));
      if (record.removed) continue;
      for (const [field, values] of Object.entries(record.conflicts)) {
        found.push({ kind: /** @type {Kind} */ (slot.kind), id: slot.id, field, values });
      }
    }
    return found;
  }

  /** @param {string} kind @param {string} id @returns {Entry[]} everything that ever happened to a record */
  entriesOf(kind, id) {
    this.#openFor(kind, id);
    const history = this.history.get(`${kind}/${id}`) ?? [];
    return [...history].sort((a, b) =>
      a.recorded_at === b.recorded_at
        ? compareIds(entryId(a), entryId(b))
        : a.recorded_at < b.recorded_at
          ? -1
          : 1
    );
  }

  /** @param {string} id `writer:number` @returns {Entry | undefined} */
  entry(id) {
    const at = id.lastIndexOf(':');
    const [writer, place] = [id.slice(0, at), Number(id.slice(at + 1)) - 1];
    return place < (this.byWriter.get(writer)?.length ?? 0) ? this.#entryAt(writer, place) : undefined;
  }

  /** All entries, as somebody else may have them: of what is erased the frames.
   * @returns {Array<Entry | ErasedEntry>} */
  handedOver() {
    return this.entriesBeyond({}).map((entry) => {
      const act = this.aside.get(entryId(entry))?.code === CODE && standing(this.acts, entry);
      return act && !this.frames.has(entryId(entry)) ? frameOf(entry, act) : entry;
    });
  }

  /** Frames of what nobody erases any more: it is to be had whole again. @returns {string[]} entry ids */
  holes() {
    return [...this.frames].filter(([, frame]) => !standing(this.acts, frame)).map(([id]) => id);
  }

  /**
   * Where observations of a run were that are erased.
   * @param {string} runId
   * @returns {import('../records/types.js').StretchRecord[]}
   */
  erasedIn(runId) {
    this.places ??= this.acts.length || this.frames.size ? erasedPlaces(this.#erased()) : new Map();
    return this.places.get(runId) ?? [];
  }

  /** @returns {ErasedEntry[]} frames of all that is erased */
  #erased() {
    return this.handedOver().flatMap((entry) => (entry.erased ? /** @type {ErasedEntry} */ (entry) : []));
  }

  /** @returns {Vector} */
  vector() {
    return Object.fromEntries([...this.byWriter].map(([writer, entries]) => [writer, entries.length]));
  }

  /** @param {Vector} have @param {number} [limit] @returns {Entry[]} what somebody with `have` lacks */
  entriesBeyond(have, limit = Infinity) {
    /** @type {Entry[]} */
    const found = [];
    for (const [writer, entries] of this.byWriter) {
      const from = heldOf(have, writer);
      for (let at = from; at < entries.length && found.length < limit; at += 1)
        found.push(entries[at] ?? this.#entryAt(writer, at));
    }
    return found;
  }

  /** @param {Vector} have @returns {number} */
  countBeyond(have) {
    let count = 0;
    for (const [writer, entries] of this.byWriter)
      count += Math.max(0, entries.length - heldOf(have, writer));
    return count;
  }

  /**
   * The fields of `fields` that would change the record; a field never set and null are the same.
   * @param {Kind} kind
   * @param {string} id
   * @param {AnyFields} fields
   * @returns {FieldsByName}
   */
  changed(kind, id, fields) {
    /** @type {FieldsByName} */
    const standing = this.record(kind, id)?.fields ?? {};
    /** @type {FieldsByName} */
    const out = {};
    for (const [name, value] of Object.entries(fields)) {
      if (value !== undefined && canonical(value) !== canonical(standing[name] ?? null)) out[name] = value;
    }
    return out;
  }
}
