/**
 * What this phone holds: entries here, photos, drafts and settings on the shelf. Nothing else touches
 * IndexedDB. Entries are only ever added. A write has happened when its promise resolves.
 */

import { PHOTOS_A_JOB } from '../records/entry_budget.js';
import { sameVector } from '../records/vectors.js';
import { isAway, isComing } from './away_rows.js';
import { dismissMark, writeEntries } from './entry_rows.js';
import { actsKey, merged, photosGone, planOf, writePlan } from './erasing.js';
import { StoreError } from './errors.js';
import { randomName } from './ids.js';
import { JobStore } from './job_store.js';
import { lastSave, noteAway, noteUnsent } from './last_save.js';
import { newOf } from './new_entries.js';
import { outboxOf } from './outbox.js';
import { keepWhole } from './photo_parts.js';
import { dropBytes } from './photo_previews.js';
import { photoRow } from './photo_rows.js';
import { writeAway } from './putting_away.js';
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

/**
 * `release`: of the app, without which nothing is kept by pages.
 * @typedef {{newId: () => string, now: () => Date, release?: string}} Instruments
 */

/**
 * @param {Instruments} instruments
 * @param {{jobs?: boolean}} [ahead] `jobs`: read at once what the list of jobs will ask for
 * @returns {Promise<Store>}
 */
export async function openStore(instruments, ahead) {
  const store = new Store(instruments);
  await store.open(ahead);
  return store;
}

export class Store extends JobStore {
  // ---------------------------------------------------------------- photos

  /**
   * Keep the bytes and the photo record in one transaction.
   * @param {string} jobId @param {NewPhoto} photo @returns {Promise<{record_id: string, sha256: string}>}
   */
  async addPhoto(jobId, photo) {
    const { row, fields } = await photoRow(photo);
    const record_id = this.newId();
    await this.inTurn(async () => {
      const { length } = (await this.upToDate(jobId)).records('photo');
      if (length >= PHOTOS_A_JOB) throw new StoreError('too_many_photos');
      return this.write(jobId, [{ kind: 'photo', record_id, fields }], row);
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
    this.announce(jobId);
  }

  /**
   * Let the bytes of a photo go: only by a person's choice, and once the server has proved that it has them.
   * @param {string} jobId
   * @param {string} sha256
   * @returns {Promise<void>}
   */
  async letPhotoGo(jobId, sha256) {
    await dropBytes(this.db, sha256);
    this.announce(jobId);
  }

  // ---------------------------------------------------------------- putting away

  /**
   * Let a whole job go, by a person's choice, if it is still as the server has just proved to have it.
   * @param {import('./away_rows.js').AwayRow} row what stays
   * @param {import('./putting_away.js').Proved} proved
   * @returns {Promise<boolean>} false: it has changed, and all of it is still here
   */
  putAway(row, proved) {
    return this.inTurn(async () => {
      const gone = await writeAway(this.db, row, proved, randomName(10));
      if (gone) {
        noteAway(row.job_id);
        this.memory.forget();
        this.notes.forget();
        (await this.job(row.job_id)).behind = true;
        await this.fromDisk(row.job_id);
        this.announce(row.job_id);
      }
      return gone;
    });
  }

  // ---------------------------------------------------------------- what is not on the server

  /** @returns {ReturnType<typeof outboxOf>} */
  async outbox() {
    const last = lastSave();
    const out = await outboxOf(this, await this.known());
    noteUnsent(out.counts.entries + out.counts.photos, last);
    return out;
  }

  /**
   * Mark an entry that was set aside as dealt with; it is kept.
   * @param {string} jobId
   * @param {string} id
   * @returns {Promise<void>}
   */
  async dismissAside(jobId, id) {
    await dismissMark(this.db, jobId, id);
    await this.fromDisk(jobId);
    this.announce(jobId);
  }

  // ---------------------------------------------------------------- for the sync engine

  /** @param {string} jobId @returns {Promise<void>} */
  async follow(jobId) {
    await super.follow(jobId);
    this.announce(jobId);
  }

  /** @param {string} jobId @returns {Promise<Vector>} */
  async vector(jobId) {
    return (await this.upToDate(jobId)).vector();
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
    return this.inTurn(async () => {
      const back = await isComing(this.db, jobId);
      // One that is coming back after it was put away may stand in memory as it was before.
      const view = back ? await this.fromDisk(jobId) : await this.upToDate(jobId);
      try {
        return await this.#takeInto(view, newOf(view, entries, aside), back);
      } catch (error) {
        if (isAway(error)) return 0; // put away in another tab meanwhile: nobody wants it here any more
        if (/** @type {StoreError} */ (error).code !== 'storage_failed') throw error;
        // Another tab may have written the same, and not told of it yet.
        return this.#takeInto(view, newOf(await this.fromDisk(jobId), entries, aside), back);
      }
    });
  }

  /**
   * @param {JobView} view @param {ReturnType<typeof newOf>} fresh @param {boolean} back whether the job is
   *   coming back
   */
  async #takeInto(view, fresh, back) {
    const { jobId } = view;
    if (fresh.entries.length === 0 && fresh.marks.length === 0) return 0;
    await writeEntries(this.db, fresh.entries, fresh.marks, { back });
    // A mark may be of an entry that was here; without any the job is only added to.
    if (fresh.marks.length > 0) await this.fromDisk(jobId);
    else for (const entry of fresh.entries) view.add(/** @type {Entry} */ (entry));
    this.nowKnown(jobId);
    this.announce(jobId);
    return fresh.entries.length;
  }

  /**
   * Honour what the office erased, or brought back; `entries` came whole again, `aside` are their marks. What
   * was put away meanwhile hears of it when it comes back.
   * @param {string} jobId @param {import('../records/erasure.js').Act[]} told @param {Entry[]} entries
   * @param {Object<string, Aside>} aside @returns {Promise<boolean>} whether anything changed
   */
  hearErasures(jobId, told, entries, aside) {
    return this.inTurn(async () => {
      const view = await this.fromDisk(jobId);
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
      await this.fromDisk(jobId);
      const views = await Promise.all((await this.known()).map((each) => this.job(each)));
      const gone = acts === view.acts ? [] : photosGone(acts, views);
      if (gone.length) await writePlan(this.db, jobId, acts, { put: [], marks: [], unmarked: [] }, gone);
      this.announce(jobId);
      return true;
    });
  }

  /** What undone acts had hidden has been sent once more. @param {string} jobId @returns {Promise<void>} */
  noteResent(jobId) {
    return this.inTurn(async () => {
      const { acts } = await this.fromDisk(jobId);
      const sent = acts.map((act) => (act.state === 'undone' ? { ...act, resent: true } : act));
      await this.db.put('meta', sent, actsKey(jobId));
      await this.fromDisk(jobId);
    });
  }

  /** @param {string} jobId @param {Vector} have @param {string} [stamp] @returns {Promise<void>} */
  async setServerVector(jobId, have, stamp) {
    // What an answer tells is told of what was here before: a job that was put away meanwhile begins anew.
    if (await this.db.has('away', jobId)) return;
    const before = await this.heard(jobId);
    this.memory.keep(`server:${jobId}`, await writeHeard(this.notes, jobId, before, have, stamp));
    if (!sameVector(have, before.have)) this.announce(jobId);
  }
}
