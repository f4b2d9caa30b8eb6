/** The jobs of this phone: read from memory, and written one change after the other. */

import { Announcements } from './announcements.js';
import { writeEntries } from './entry_rows.js';
import { MARK } from './db.js';
import { StoreError } from './errors.js';
import { idle } from './idle.js';
import { isoStamp, randomName } from './ids.js';
import { jobLines } from './job_lines.js';
import { forgetLoss, lostBefore, noteSave } from './last_save.js';
import { LoadedJobs } from './loaded_jobs.js';
import { Shelf } from './local_state.js';
import { entriesOf } from './new_entries.js';
import { beginNewLog } from './new_log.js';

/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./job_view.js').Change} Change */
/** @typedef {import('./photo_rows.js').PhotoRow} PhotoRow */
/** @typedef {import('./job_lines.js').JobLine} JobLine */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../records/types.js').FieldsByKind} FieldsByKind */
/** @typedef {import('../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../records/fold.js').Standing} Standing */

const AHEAD_WITHIN_MS = 100; // a phone with much on it shows the screen's head first

/** @param {number} ms @returns {Promise<void>} */
function moment(ms) {
  return new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
}

export class JobStore extends Shelf {
  #announcements = new Announcements();
  /** The jobs in memory. */
  #jobs = new LoadedJobs(this.db);
  /** @type {Promise<unknown>} */
  #queue = Promise.resolve();
  /** Every opening writes under a new name, so neither a second tab nor a copied phone can go on under it. */
  #writer = randomName(22);
  /** @type {Map<string, number>} job to the last number written by this opening */
  #numbers = new Map();
  /**
   * @type {Promise<JobLine[]> | undefined} what the first to ask for the jobs gets, unless something changed
   *   meanwhile
   */
  #ahead;
  /** What an earlier opening told as saved and the browser has lost. @type {import('./last_save.js').Lost | undefined} */
  lost;

  /** @param {import('./store.js').Instruments} instruments */
  constructor({ newId, now, release = '' }) {
    super();
    this.release = release;
    this.#jobs.release = release;
    this.newId = newId;
    this.now = now;
    this.events = this.#announcements.events;
    this.deviceId = '';
  }

  /** @param {{jobs?: boolean}} [ahead] */
  async open({ jobs = false } = {}) {
    this.#announcements.listen({
      told: (jobId) => {
        this.#forget();
        this.notes.forget();
        this.#jobs.outdate(jobId);
      },
      woken: () => {
        this.#forget();
        this.#jobs.outdate();
      }
    });
    this.memory.listens = this.#announcements.listens;
    const lost = lostBefore(this.db);
    const named = this.db.get('meta', MARK);
    this.#ahead = jobs ? this.jobs() : undefined;
    this.#ahead?.catch(() => undefined); // whoever asks for it is told
    [this.lost, this.deviceId] = await Promise.all([lost, named]);
    if (this.deviceId) beginNewLog();
    else this.deviceId = await this.#nameDevice();
    this.db.mark = this.deviceId;
    this.db.onlost = () => this.events.dispatchEvent(new Event('lost'));
    await Promise.race([this.#ahead, moment(AHEAD_WITHIN_MS)]).catch(() => undefined);
  }

  /** @returns {Promise<string>} the new name, or that which another tab gave at the same moment */
  #nameDevice() {
    return this.db.run(['meta'], 'readwrite', (tx, done) => {
      const rows = tx.objectStore('meta');
      const named = rows.get(MARK);
      named.onsuccess = () => {
        const name = named.result ?? `phone-${randomName(10)}`;
        rows.put(name, MARK);
        done(name);
        this.db.nothingMore(tx);
      };
    });
  }

  /** Whether saves are gone and nobody has read of it. */
  get isLost() {
    return this.lost !== undefined || this.db.lost;
  }

  /** A person has read what was lost. */
  lossRead() {
    this.lost = undefined;
    forgetLoss(this.db.lost);
    this.events.dispatchEvent(new Event('loss_read'));
    this.events.dispatchEvent(new CustomEvent('changed', { detail: { jobId: '' } }));
  }

  /** Another tab may have written. */
  #forget() {
    this.#ahead = undefined;
    this.memory.forget();
  }

  /** @param {string} jobId empty for what is of no job */
  tellTabs(jobId) {
    this.#announcements.tellTabs(jobId);
  }

  /** Tell whoever shows a job that it has changed. @protected @param {string} jobId */
  announce(jobId) {
    this.#ahead = undefined;
    this.#announcements.announce(jobId);
  }

  /**
   * One write after the other: each computes `seen` from what the one before it left.
   * @template T @param {() => Promise<T>} work @returns {Promise<T>}
   */
  inTurn(work) {
    const turn = this.#queue.then(work);
    this.#queue = turn.catch(() => {});
    return turn;
  }

  // ---------------------------------------------------------------- reading

  /** Jobs as far as they are in memory. @returns {JobView[]} */
  inMemory() {
    return this.#jobs.inMemory();
  }

  /** @param {string} jobId @returns {Promise<JobView>} the live view: ask it again after `changed` */
  job(jobId) {
    return this.#jobs.get(jobId);
  }

  /** @returns {Promise<JobLine[]>} not removed first, newest first */
  async jobs() {
    const ahead = this.#ahead;
    this.#ahead = undefined;
    if (ahead) return ahead;
    return jobLines(this);
  }

  /** For screens with work that can wait. @returns {Promise<void>} when the browser has nothing else to do */
  idle() {
    return idle();
  }

  // ---------------------------------------------------------------- writing

  /**
   * Add changes, all or none, in one transaction.
   * @param {string} jobId @param {Change[]} changes @returns {Promise<Entry[]>} once they are on disk
   */
  addEntries(jobId, changes) {
    return this.inTurn(() => this.write(jobId, changes));
  }

  /** @param {string} jobId @param {Change[]} changes @param {PhotoRow} [photo] @returns {Promise<Entry[]>} */
  async write(jobId, changes, photo) {
    if (changes.length === 0) return [];
    const view = await this.upToDate(jobId);
    const last = this.#numbers.get(jobId) ?? 0;
    // A job that was put away and comes back may not have come as far as what was written here before.
    if (last !== (view.byWriter.get(this.#writer)?.length ?? 0))
      throw new StoreError((await this.db.has('away', jobId)) ? 'job_put_away' : 'job_coming_back');
    const by = { writer: this.#writer, device_id: this.deviceId, recorded_at: isoStamp(this.now()) };
    const entries = entriesOf(view, changes, by, last);
    await writeEntries(this.db, entries, [], { photo });
    // Only now: a transaction that failed must not leave a gap in the numbers.
    this.#numbers.set(jobId, last + entries.length);
    const entry = /** @type {[string, string, number]} */ ([jobId, this.#writer, last + entries.length]);
    noteSave({ device_id: this.deviceId, entry, at: by.recorded_at, unsent: null });
    for (const entry of entries) view.add(entry);
    this.nowKnown(jobId);
    this.announce(jobId);
    return entries;
  }

  /** The job may be new among those known. @param {string} jobId */
  nowKnown(jobId) {
    if (!this.memory.peek('known')?.includes(jobId)) this.memory.forget('known');
  }

  /**
   * The job with what other tabs have told of. What they write at this very moment was not seen by whoever
   * changes
   * something here, and shows as a conflict if it differs.
   * @param {string} jobId
   */
  upToDate(jobId) {
    return this.memory.listens ? this.job(jobId) : this.fromDisk(jobId);
  }

  /** The job as it is on the disk. @param {string} jobId */
  fromDisk(jobId) {
    this.#jobs.outdate(jobId);
    return this.job(jobId);
  }

  /**
   * Write the fields that differ from what stands; a second tap therefore writes nothing.
   * @template {Kind} K
   * @param {string} jobId
   * @param {K} kind
   * @param {string | null} recordId
   * @param {FieldsByKind[K]} fields
   * @param {Standing} [shown] see Change
   * @returns {Promise<string>} the record's id
   */
  save(jobId, kind, recordId, fields, shown) {
    const id = recordId ?? (kind === 'job' ? jobId : this.newId());
    return this.inTurn(async () => {
      const changed = (await this.upToDate(jobId)).changed(kind, id, fields);
      if (Object.keys(changed).length)
        await this.write(jobId, [/** @type {Change} */ ({ kind, record_id: id, fields: changed, shown })]);
      return id;
    });
  }

  /**
   * @param {string} jobId @param {Kind} kind @param {string} recordId
   * @param {Standing} [shown] see Change @returns {Promise<void>}
   */
  remove(jobId, kind, recordId, shown) {
    return this.#setRemoved(jobId, kind, recordId, true, shown);
  }

  /** @param {string} jobId @param {Kind} kind @param {string} recordId @returns {Promise<void>} */
  restore(jobId, kind, recordId) {
    return this.#setRemoved(jobId, kind, recordId, false);
  }

  /**
   * @param {string} jobId @param {Kind} kind @param {string} recordId @param {boolean} removed
   * @param {Standing} [shown] @returns {Promise<void>}
   */
  #setRemoved(jobId, kind, recordId, removed, shown) {
    return this.inTurn(async () => {
      const record = (await this.upToDate(jobId)).record(kind, recordId);
      if (!record || record.removed === removed) return;
      await this.write(jobId, [{ kind, record_id: recordId, fields: { removed }, shown }]);
    });
  }

  /**
   * Say which of several standing values is right; the entry has seen them all.
   * @param {string} jobId
   * @param {Kind} kind
   * @param {string} recordId
   * @param {string} fieldName
   * @param {FieldValue} value
   * @returns {Promise<void>}
   */
  async settle(jobId, kind, recordId, fieldName, value) {
    await this.addEntries(jobId, [
      /** @type {Change} */ ({ kind, record_id: recordId, fields: { [fieldName]: value } })
    ]);
  }
}
