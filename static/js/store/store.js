/**
 * What this phone holds: entries here, photos, drafts and settings on the shelf. Nothing else touches
 * IndexedDB. Entries are only ever added. A write has happened when its promise resolves.
 */

import { isTooLarge, PHOTOS_A_JOB } from '../records/entry_budget.js';
import { sameVector } from '../records/vectors.js';
import { isAway, isComing } from './away_rows.js';
import { actsKey, asErased, merged, photosGone, planOf, writePlan } from './erasing.js';
import { StoreError } from './errors.js';
import { isoStamp, randomName } from './ids.js';
import { Seen } from './job_view.js';
import { writeEntries } from './entry_rows.js';
import { LoadedJobs } from './loaded_jobs.js';
import { jobLines } from './job_lines.js';
import { outboxOf } from './outbox.js';
import { keepWhole } from './photo_parts.js';
import { dropBytes } from './photo_previews.js';
import { writeAway } from './putting_away.js';
import { photoRow } from './photo_rows.js';
import { Shelf } from './local_state.js';
import { writeHeard } from './server_vectors.js';

/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./job_view.js').SurveyRecord} SurveyRecord */
/** @typedef {import('./job_view.js').Vector} Vector */
/** @typedef {import('./job_view.js').Change} Change */
/** @typedef {import('./job_view.js').Aside} Aside */
/** @typedef {import('./photo_rows.js').PhotoRow} PhotoRow */
/** @typedef {import('./photo_rows.js').NewPhoto} NewPhoto */
/** @typedef {import('./job_lines.js').JobLine} JobLine */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../records/types.js').FieldsByKind} FieldsByKind */
/** @typedef {import('../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../records/fold.js').Standing} Standing */

const AHEAD_WITHIN_MS = 100; // a phone with much on it shows the screen's head first

/**
 * @param {{newId: () => string, now: () => Date}} instruments
 * @param {{jobs?: boolean}} [ahead] `jobs`: read at once what the list of jobs will ask for
 * @returns {Promise<Store>}
 */
export async function openStore(instruments, ahead) {
  const store = new Store(instruments);
  await store.open(ahead);
  return store;
}

/** @param {number} ms @returns {Promise<void>} */
function moment(ms) {
  return new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
}

export class Store extends Shelf {
  /** The jobs in memory. */
  #jobs = new LoadedJobs(this.db);
  /** @type {Promise<unknown>} */
  #queue = Promise.resolve();
  /** Every opening writes under a new name, so neither a second tab nor a copied phone can go on under it. */
  #writer = randomName(22);
  /** @type {Map<string, number>} job to the last number written by this opening */
  #numbers = new Map();
  /** @type {BroadcastChannel | undefined} */
  #channel;
  /**
   * @type {Promise<JobLine[]> | undefined} what the first to ask for the jobs gets, unless something changed
   *   meanwhile
   */
  #ahead;
  /** @type {Set<string>} jobs written to, of which nobody has been told yet */
  #changed = new Set();

  /** @param {{newId: () => string, now: () => Date}} instruments */
  constructor({ newId, now }) {
    super();
    this.newId = newId;
    this.now = now;
    this.events = new EventTarget();
    this.deviceId = '';
  }

  /** @param {{jobs?: boolean}} [ahead] */
  async open({ jobs = false } = {}) {
    this.#listen();
    const named = this.db.get('meta', 'device_id');
    this.#ahead = jobs ? this.jobs() : undefined;
    this.#ahead?.catch(() => undefined); // whoever asks for it is told
    this.deviceId = (await named) ?? '';
    if (!this.deviceId) {
      this.deviceId = `phone-${randomName(10)}`;
      await this.db.put('meta', this.deviceId, 'device_id');
    }
    await Promise.race([this.#ahead, moment(AHEAD_WITHIN_MS)]).catch(() => undefined);
  }

  #listen() {
    if (typeof BroadcastChannel === 'undefined') return;
    this.#channel = new BroadcastChannel('fallbook');
    this.#channel.onmessage = ({ data }) => {
      if (data?.type !== 'changed') return;
      this.#ahead = undefined;
      this.memory.forget();
      this.notes.forget();
      this.#jobs.outdate(data.jobId);
      this.#tell(data.jobId);
    };
    this.memory.listens = true;
    // A page that was asleep may not have heard everything.
    const woken = (/** @type {Event} */ event) => {
      if (event.type === 'pageshow' && !(/** @type {PageTransitionEvent} */ (event).persisted)) return; // it is only now shown for the first time
      this.#ahead = undefined;
      this.memory.forget();
      this.#jobs.outdateAll();
    };
    for (const kind of ['visibilitychange', 'pageshow']) globalThis.addEventListener?.(kind, woken);
  }

  /** @param {string} jobId */
  tellTabs(jobId) {
    this.#channel?.postMessage({ type: 'changed', jobId });
  }

  /** @param {string} jobId */
  #tell(jobId) {
    this.events.dispatchEvent(new CustomEvent('changed', { detail: { jobId } }));
  }

  /** Tell this tab and the others, once whoever waits for the write has gone on. @param {string} jobId */
  #announce(jobId) {
    this.#ahead = undefined;
    if (this.#changed.size === 0) {
      setTimeout(() => {
        const jobIds = [...this.#changed];
        this.#changed.clear();
        for (const each of jobIds) {
          this.tellTabs(each);
          this.#tell(each);
        }
      });
    }
    this.#changed.add(jobId);
  }

  /**
   * One write after the other: each computes `seen` from what the one before it left.
   * @template T @param {() => Promise<T>} work @returns {Promise<T>}
   */
  #inTurn(work) {
    const turn = this.#queue.then(work);
    this.#queue = turn.catch(() => {});
    return turn;
  }

  // ---------------------------------------------------------------- reading

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

  // ---------------------------------------------------------------- writing

  /**
   * Add changes, all or none, in one transaction.
   * @param {string} jobId @param {Change[]} changes @returns {Promise<Entry[]>} once they are on disk
   */
  addEntries(jobId, changes) {
    return this.#inTurn(() => this.#write(jobId, changes));
  }

  /** @param {string} jobId @param {Change[]} changes @param {PhotoRow} [photo] @returns {Promise<Entry[]>} */
  async #write(jobId, changes, photo) {
    if (changes.length === 0) return [];
    const view = await this.#heard(jobId);
    const seen = new Seen(view);
    let number = this.#numbers.get(jobId) ?? 0;
    // A job that was put away and comes back may not have come as far as what was written here before.
    if (number !== (view.byWriter.get(this.#writer)?.length ?? 0))
      throw new StoreError((await this.db.has('away', jobId)) ? 'job_put_away' : 'job_coming_back');
    const stamp = isoStamp(this.now());
    const entries = changes.map((change) => {
      const { kind, record_id, fields } = change;
      number += 1;
      const found = seen.of(change, `${this.#writer}:${number}`);
      /** @type {Entry} */
      const entry = {
        job_id: jobId,
        writer: this.#writer,
        number,
        device_id: this.deviceId,
        record_id,
        kind,
        fields: JSON.parse(JSON.stringify(fields)),
        recorded_at: stamp
      };
      if (Object.keys(found).length) entry.seen = found;
      if (isTooLarge(entry)) throw new StoreError('entry_too_large');
      return entry;
    });
    await writeEntries(this.db, entries, [], { photo });
    // Only now: a transaction that failed must not leave a gap in the numbers.
    this.#numbers.set(jobId, number);
    for (const entry of entries) view.add(entry);
    this.#nowKnown(jobId);
    this.#announce(jobId);
    return entries;
  }

  /** The job may be new among those known. @param {string} jobId */
  #nowKnown(jobId) {
    if (!this.memory.peek('known')?.includes(jobId)) this.memory.forget('known');
  }

  /**
   * The job with what other tabs have told of. What they write at this very moment was not seen by whoever
   * changes
   * something here, and shows as a conflict if it differs.
   * @param {string} jobId
   */
  #heard(jobId) {
    return this.memory.listens ? this.job(jobId) : this.#current(jobId);
  }

  /** The job as it is on the disk. @param {string} jobId */
  #current(jobId) {
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
    return this.#inTurn(async () => {
      const changed = (await this.#heard(jobId)).changed(kind, id, fields);
      if (Object.keys(changed).length)
        await this.#write(jobId, [/** @type {Change} */ ({ kind, record_id: id, fields: changed, shown })]);
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
    return this.#inTurn(async () => {
      const record = (await this.#heard(jobId)).record(kind, recordId);
      if (!record || record.removed === removed) return;
      await this.#write(jobId, [{ kind, record_id: recordId, fields: { removed }, shown }]);
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

  // ---------------------------------------------------------------- photos

  /**
   * Keep the bytes and the photo record in one transaction.
   * @param {string} jobId @param {NewPhoto} photo @returns {Promise<{record_id: string, sha256: string}>}
   */
  async addPhoto(jobId, photo) {
    const { row, fields } = await photoRow(photo);
    const record_id = this.newId();
    await this.#inTurn(async () => {
      const { length } = (await this.#heard(jobId)).records('photo');
      if (length >= PHOTOS_A_JOB) throw new StoreError('too_many_photos');
      return this.#write(jobId, [{ kind: 'photo', record_id, fields }], row);
    });
    return { record_id, sha256: row.sha256 };
  }

  /**
   * Keep a photo that came whole from the server.
   * @param {string} jobId
   * @param {PhotoRow} row
   * @returns {Promise<void>}
   */
  async keepFetchedPhoto(jobId, row) {
    await keepWhole(this.db, jobId, row);
    this.#announce(jobId);
  }

  /**
   * Let the bytes of a photo go: only by a person's choice, and once the server has proved that it has them.
   * @param {string} jobId
   * @param {string} sha256
   * @returns {Promise<void>}
   */
  async letPhotoGo(jobId, sha256) {
    await dropBytes(this.db, sha256);
    this.#announce(jobId);
  }

  // ---------------------------------------------------------------- putting away

  /**
   * Let a whole job go, by a person's choice, if it is still as the server has just proved to have it.
   * @param {import('./away_rows.js').AwayRow} row what stays
   * @param {import('./putting_away.js').Proved} proved
   * @returns {Promise<boolean>} false: it has changed, and all of it is still here
   */
  putAway(row, proved) {
    return this.#inTurn(async () => {
      const gone = await writeAway(this.db, row, proved, randomName(10));
      if (gone) {
        this.memory.forget();
        this.notes.forget();
        (await this.job(row.job_id)).behind = true;
        await this.#current(row.job_id);
        this.#announce(row.job_id);
      }
      return gone;
    });
  }

  // ---------------------------------------------------------------- what is not on the server

  /** @returns {ReturnType<typeof outboxOf>} */
  async outbox() {
    return outboxOf(this, await this.known());
  }

  /**
   * Mark an entry that was set aside as dealt with; it is kept.
   * @param {string} jobId
   * @param {string} id
   * @returns {Promise<void>}
   */
  async dismissAside(jobId, id) {
    const at = id.lastIndexOf(':');
    const key = [jobId, id.slice(0, at), Number(id.slice(at + 1))];
    await this.db.run(['aside'], 'readwrite', (tx) => {
      const rows = tx.objectStore('aside');
      const request = rows.get(key);
      request.onsuccess = () => {
        if (request.result) rows.put({ ...request.result, dismissed: true });
        this.db.nothingMore(tx);
      };
    });
    await this.#current(jobId);
    this.#announce(jobId);
  }

  // ---------------------------------------------------------------- for the sync engine

  /** @param {string} jobId @returns {Promise<void>} */
  async follow(jobId) {
    await super.follow(jobId);
    this.#announce(jobId);
  }

  /** @param {string} jobId @returns {Promise<Vector>} */
  async vector(jobId) {
    return (await this.#heard(jobId)).vector();
  }

  /** @param {Vector} have @param {string} jobId @param {number} limit @returns {Promise<Entry[]>} */
  async entriesBeyond(have, jobId, limit) {
    return (await this.job(jobId)).entriesBeyond(have, limit);
  }

  /**
   * Take entries from elsewhere, and marks of those set aside. Never leaves a gap, never replaces.
   * @param {string} jobId @param {Entry[]} entries @param {Object<string, Aside>} [aside]
   * @returns {Promise<number>} how many were new
   */
  take(jobId, entries, aside = {}) {
    return this.#inTurn(async () => {
      const view = await this.#current(jobId);
      const heads = new Map(Object.entries(view.vector()));
      const fresh = entries.filter((entry) => {
        const follows = entry.job_id === jobId && entry.number === (heads.get(entry.writer) ?? 0) + 1;
        if (follows) heads.set(entry.writer, entry.number);
        return follows;
      });
      const kept = asErased(view.acts, fresh, aside);
      const marks = Object.entries(kept.aside).filter(([id]) => !view.aside.has(id));
      if (fresh.length === 0 && marks.length === 0) return 0;
      try {
        await writeEntries(
          this.db,
          kept.entries,
          marks.map(([id, mark]) => ({ jobId, id, ...mark })),
          { back: await isComing(this.db, jobId) }
        );
      } catch (error) {
        if (!isAway(error)) throw error;
        return 0; // put away in another tab while this was on its way: nobody wants it here any more
      }
      await this.#current(jobId);
      this.#nowKnown(jobId);
      this.#announce(jobId);
      return fresh.length;
    });
  }

  /**
   * Honour what the office erased, or brought back; `entries` came whole again, `aside` are their marks. What
   * was put away meanwhile hears of it when it comes back.
   * @param {string} jobId @param {import('../records/erasure.js').Act[]} told @param {Entry[]} entries
   * @param {Object<string, Aside>} aside @returns {Promise<boolean>} whether anything changed
   */
  hearErasures(jobId, told, entries, aside) {
    return this.#inTurn(async () => {
      const view = await this.#current(jobId);
      const acts = merged(view.acts, told) ?? view.acts;
      const plan = planOf(view, acts, entries, aside);
      const changed = acts !== view.acts || plan.put.length + plan.marks.length + plan.unmarked.length > 0;
      if (!changed) return false;
      try {
        await writePlan(this.db, jobId, acts, plan, []);
      } catch (error) {
        if (!isAway(error)) throw error;
        return false;
      }
      view.behind = true;
      await this.#current(jobId);
      const views = await Promise.all((await this.known()).map((each) => this.job(each)));
      const gone = acts === view.acts ? [] : photosGone(acts, views);
      if (gone.length) await writePlan(this.db, jobId, acts, { put: [], marks: [], unmarked: [] }, gone);
      this.#announce(jobId);
      return true;
    });
  }

  /** What undone acts had hidden has been sent once more. @param {string} jobId @returns {Promise<void>} */
  noteResent(jobId) {
    return this.#inTurn(async () => {
      const { acts } = await this.#current(jobId);
      const sent = acts.map((act) => (act.state === 'undone' ? { ...act, resent: true } : act));
      await this.db.put('meta', sent, actsKey(jobId));
      await this.#current(jobId);
    });
  }

  /** @param {string} jobId @param {Vector} have @param {string} [stamp] @returns {Promise<void>} */
  async setServerVector(jobId, have, stamp) {
    // What an answer tells is told of what was here before: a job that was put away meanwhile begins anew.
    if (await this.db.has('away', jobId)) return;
    const before = await this.heard(jobId);
    this.memory.keep(`server:${jobId}`, await writeHeard(this.notes, jobId, before, have, stamp));
    if (!sameVector(have, before.have)) this.#announce(jobId);
  }
}
