/** Makes the pages of a job from its view (pages.js), a little at a time. */

import { CODE, stampLines } from '../records/erasure.js';
import { FORMAT, LOOSE, sumOf, WORDS, wordsOf } from './pages.js';

/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./pages.js').About} About */
/** @typedef {import('./pages.js').Page} Page */
/** @typedef {import('./pages.js').EntryRow} EntryRow */
/** @typedef {{about: string, sum: number, ids: Uint32Array, entries: number}} Head */
/** @typedef {{kind: string, run: string | null, records: Array<{id: string, entries: Entry[]}>}} Group */

const RECORDS_A_PAGE = 2000;
const RECORDS_A_STEP = 300;
const PART_BYTES = 2_000_000;
const KNOWN = new Set([
  'job_id',
  'writer',
  'number',
  'device_id',
  'record_id',
  'kind',
  'fields',
  'recorded_at',
  'seen'
]);

/**
 * Yields the bytes of a part when one is full, and nothing after a little work, so that whoever drives it may
 * rest. What is added to the view meanwhile is left out.
 * @param {JobView} view @param {string} release of the app
 * @returns {Generator<Uint8Array | undefined, Head | undefined, void>} nothing where the view was made anew
 */
export function* makePages(view, release) {
  const { fold, life } = view;
  const acts = stampLines(view.acts);
  const marks = /** @type {Array<[string, string]>} */ ([...view.aside].map(([id, { code }]) => [id, code]));
  for (const at of view.pages?.left() ?? []) {
    view.open([at]);
    yield;
  }
  const maker = new Maker(new Map(Object.entries(view.vector())));
  const groups = yield* grouped(view, maker);
  for (const { kind, run, records } of groups) {
    records.sort((a, b) => (a.id < b.id ? -1 : 1));
    for (let at = 0; at < records.length; at += RECORDS_A_PAGE) {
      if (view.fold !== fold) return undefined;
      yield maker.page(kind, run, records.slice(at, at + RECORDS_A_PAGE));
    }
  }
  yield maker.last();
  const head = maker.head({ format: FORMAT, release, job_id: view.jobId, life, acts, marks });
  return view.fold === fold ? head : undefined;
}

/** @param {JobView} view @param {Maker} maker @returns {Generator<undefined, Iterable<Group>, void>} */
function* grouped(view, maker) {
  const odd = new Set();
  for (const id of view.aside.keys()) {
    const entry = view.entry(id);
    if (entry) odd.add(`${entry.kind}/${entry.record_id}`);
  }
  /** @type {Map<string, Group>} */
  const groups = new Map();
  /** @param {string} kind @param {string | null} run @param {string} id @param {Entry[]} entries */
  const add = (kind, run, id, entries) => {
    const name = JSON.stringify([kind, run]);
    const group = groups.get(name) ?? { kind, run, records: [] };
    groups.set(name, group);
    group.records.push({ id, entries });
  };
  let step = 0;
  for (const [key, history] of view.history) {
    const { kind, record_id: id } = history[0];
    const entries = history.filter((entry) => maker.covers(entry));
    const plain = entries.length === history.length && !odd.has(key) && !view.index.contested.has(key);
    if (plain && wordsOf(id) && entries.every(isPlain)) {
      const run = view.runOf(kind, id);
      add(kind, typeof run === 'string' ? run : null, id, entries);
    } else if (entries.length > 0) {
      add(LOOSE, null, key, entries);
    }
    step += 1;
    if (step % RECORDS_A_STEP === 0) yield;
  }
  for (const [id, { code }] of view.aside) {
    const entry = code === CODE && !view.frames.has(id) && view.entry(id);
    if (entry && maker.covers(entry)) add(LOOSE, null, id, [entry]);
  }
  for (const [id, frame] of view.frames)
    if (maker.covers(frame)) add(LOOSE, null, id, [/** @type {Entry} */ (frame)]);
  return groups.values();
}

/** @param {Entry} entry @returns {boolean} whether it has the usual shape, and removes nothing */
function isPlain(entry) {
  const { device_id, recorded_at, fields, seen } = entry;
  return (
    typeof device_id === 'string' &&
    typeof recorded_at === 'string' &&
    (seen === undefined || (typeof seen === 'object' && seen !== null)) &&
    !Object.hasOwn(fields, 'removed') &&
    Object.keys(entry).every((name) => KNOWN.has(name))
  );
}

class Maker {
  /** @type {Page[]} */
  #pages = [];
  /** @type {number[]} words of the ids, page by page */
  #ids = [];
  /** @type {About['parts']} */
  #parts = [];
  /** @type {Uint8Array[]} of the part in the making */
  #bytes = [];
  #length = 0;
  /** @type {Map<string, number>} */
  #devices = new Map();
  #entries = 0;
  #encoder = new TextEncoder();

  /** @param {Map<string, number>} upto the vector */
  constructor(upto) {
    this.upto = upto;
    this.writers = new Map([...upto.keys()].map((writer, at) => [writer, at]));
  }

  /** @param {{writer: string, number: number}} entry @returns {boolean} whether it is within the vector */
  covers({ writer, number }) {
    return number <= (this.upto.get(writer) ?? 0);
  }

  /**
   * @param {string} kind @param {string | null} run @param {Group['records']} records in order of id
   * @returns {Uint8Array | undefined} a part that is full
   */
  page(kind, run, records) {
    const entries = records.flatMap((one) => one.entries);
    const rows = kind === LOOSE ? entries : entries.map((entry) => this.#row(entry));
    const bytes = this.#encoder.encode(JSON.stringify(rows));
    const full = this.#length > 0 && this.#length + bytes.length > PART_BYTES ? this.last() : undefined;
    const writers = new Set(entries.map(({ writer }) => /** @type {number} */ (this.writers.get(writer))));
    this.#pages.push({
      kind,
      run,
      part: this.#parts.length,
      from: this.#length,
      to: this.#length + bytes.length,
      first: this.#ids.length / WORDS,
      records: kind === LOOSE ? 0 : records.length,
      entries: entries.length,
      writers: [...writers]
    });
    if (kind !== LOOSE) for (const { id } of records) this.#ids.push(...(wordsOf(id) ?? []));
    this.#bytes.push(bytes);
    this.#length += bytes.length;
    this.#entries += entries.length;
    return full;
  }

  /** @param {Entry} entry @returns {EntryRow} */
  #row({ writer, number, device_id, record_id, recorded_at, fields, seen }) {
    const device = this.#devices.get(device_id) ?? this.#devices.size;
    this.#devices.set(device_id, device);
    const place = /** @type {number} */ (this.writers.get(writer));
    return seen
      ? [place, number, device, record_id, recorded_at, fields, seen]
      : [place, number, device, record_id, recorded_at, fields];
  }

  /** @returns {Uint8Array | undefined} the part in the making, which is full now */
  last() {
    if (this.#length === 0) return undefined;
    const part = new Uint8Array(this.#length);
    let at = 0;
    for (const bytes of this.#bytes) {
      part.set(bytes, at);
      at += bytes.length;
    }
    this.#parts.push({ length: part.length, sum: sumOf(part) });
    this.#bytes = [];
    this.#length = 0;
    return part;
  }

  /**
   * @param {Pick<About, 'format' | 'release' | 'job_id' | 'life' | 'acts' | 'marks'>} of
   * @returns {Head | undefined} nothing where it lacks an entry, or has one twice
   */
  head(of) {
    const counts = [...this.upto.values()];
    if (counts.reduce((sum, count) => sum + count, 0) !== this.#entries) return undefined;
    const ids = Uint32Array.from(this.#ids);
    const about = JSON.stringify(
      /** @type {About} */ ({
        ...of,
        writers: [...this.writers.keys()],
        counts,
        devices: [...this.#devices.keys()],
        pages: this.#pages,
        parts: this.#parts,
        ids: sumOf(new Uint8Array(ids.buffer))
      })
    );
    return { about, sum: sumOf(this.#encoder.encode(about)), ids, entries: this.#entries };
  }
}
