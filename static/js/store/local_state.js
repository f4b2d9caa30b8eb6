/**
 * What the phone keeps beside the entries: drafts, settings, photos' bytes, and what the sync engine
 * remembers.
 */

import { awayLines, forgetTitles } from './away_rows.js';
import { Database } from './db.js';
import { knownJobs } from './entry_rows.js';
import { Memory } from './memory.js';
import { Notes } from './notes.js';
import { dropParts, joined, lengthOf, readParts } from './photo_parts.js';
import { previewKey } from './photo_previews.js';
import { readHeard } from './server_vectors.js';
import { changeWanted, noteSent, readWanted, writeWanted } from './wanted_photos.js';

/** @typedef {import('./job_view.js').Vector} Vector */
/** @typedef {import('./server_vectors.js').Heard} Heard */
/** @typedef {import('./photo_rows.js').PhotoRow} PhotoRow */
/** @typedef {import('./wanted_photos.js').WantedPhotos} WantedPhotos */
/** @typedef {import('../sync/photo_plan.js').PhotoWish} PhotoWish */
/** @typedef {import('../sync/sync_log.js').Attempt} Attempt */
/** @typedef {import('../sync/wire.js').OtherJob} OtherJob */
/** @typedef {import('../sync/photo_notes.js').PhotoNote} PhotoNote */
/**
 * What the sync engine remembers.
 * @typedef {{last_ok_at: string, others: OtherJob[], others_stamp: string, remarks_heard: boolean, log:
 *   Attempt[]}} SyncNotes
 */

export class Shelf {
  constructor() {
    this.db = new Database();
    this.memory = new Memory();
    this.notes = new Notes(this.db);
  }

  // ---------------------------------------------------------------- photos

  /** @param {string} sha256 @returns {Promise<PhotoRow | undefined>} */
  photo(sha256) {
    return this.db.get('photos', sha256);
  }

  /** @returns {Promise<Set<unknown>>} the hashes of all that are here */
  async photosHeld() {
    return new Set(await this.db.keys('photos'));
  }

  /** @param {string} sha256 @returns {Promise<boolean>} */
  hasPhoto(sha256) {
    return this.db.has('photos', sha256);
  }

  /**
   * What is kept of a photo that was let go.
   * @param {string} sha256
   * @returns {Promise<import('./photo_previews.js').Preview | undefined>}
   */
  preview(sha256) {
    return this.db.get('meta', previewKey(sha256));
  }

  /** Keep the bytes of a picture that came in a file. @param {PhotoRow} row @returns {Promise<void>} */
  keepPhoto(row) {
    return this.db.put('photos', row);
  }

  /** @param {string} sha256 @returns {Promise<PhotoNote | undefined>} what the server said when it was sent */
  photoNote(sha256) {
    return this.notes.get(`photo_note:${sha256}`);
  }

  /** @param {string} sha256 @param {PhotoNote} said @returns {Promise<void>} */
  notePhoto(sha256, said) {
    return this.notes.put(`photo_note:${sha256}`, said);
  }

  /** @param {import('../sync/wire.js').PhotoRemarks[]} remarks @returns {Promise<void>} */
  async notePhotos(remarks) {
    /** @type {Array<[string, PhotoNote]>} */
    const rows = [];
    for (const { note, photos } of remarks) {
      for (const sha256 of photos) {
        const known = await this.photoNote(sha256);
        if (known?.message !== note || known.code) rows.push([`photo_note:${sha256}`, { message: note }]);
      }
    }
    if (rows.length > 0) await this.notes.putAll(rows);
  }

  // ---------------------------------------------------------------- photos on their way from the server

  /**
   * @param {string} sha256
   * @returns {Promise<number>} how many bytes of a photo have come, from the first on
   */
  async photoPartsBytes(sha256) {
    return lengthOf(await readParts(this.db, sha256));
  }

  /** @param {string} sha256 @returns {Promise<ArrayBuffer>} */
  async photoPartsJoined(sha256) {
    return joined(await readParts(this.db, sha256));
  }

  /** @param {import('./photo_parts.js').Part} part @returns {Promise<void>} */
  addPhotoPart(part) {
    return this.db.put('photo_parts', part);
  }

  /** @param {string} sha256 @returns {Promise<void>} */
  dropPhotoParts(sha256) {
    return dropParts(this.db, sha256);
  }

  /**
   * What a person said of the photos of a job that only the server has.
   * @param {string} jobId
   * @returns {Promise<PhotoWish | undefined>}
   */
  photoWish(jobId) {
    return this.setting(`photos:${jobId}`);
  }

  /**
   * @param {string} jobId
   * @param {PhotoWish} wish
   * @returns {Promise<void>}
   */
  setPhotoWish(jobId, wish) {
    return this.setSetting(`photos:${jobId}`, wish);
  }

  // ---------------------------------------------------------------- drafts and settings

  /**
   * As the form left it: T is what the form that asks has put there.
   * @template [T=unknown] @param {string} key @returns {Promise<T | undefined>}
   */
  draft(key) {
    return this.db.get('drafts', key);
  }

  /** @param {string} key @param {unknown} value @returns {Promise<void>} */
  saveDraft(key, value) {
    return this.db.put('drafts', value, key);
  }

  /** @param {string} key @returns {Promise<void>} */
  dropDraft(key) {
    return this.db.delete('drafts', key);
  }

  /** @param {string} prefix @returns {Promise<Array<{key: string, value: unknown}>>} */
  drafts(prefix) {
    return this.db.run(['drafts'], 'readonly', (tx, done) => {
      /** @type {Array<{key: string, value: unknown}>} */
      const found = [];
      const request = tx.objectStore('drafts').openCursor(IDBKeyRange.bound(prefix, `${prefix}\uffff`));
      request.onsuccess = () => {
        const cursor = request.result;
        if (!cursor) return done(found);
        found.push({ key: String(cursor.key), value: cursor.value });
        return cursor.continue();
      };
    });
  }

  /**
   * T is what the one that asks has put there.
   * @template [T=unknown] @param {string} key @returns {Promise<T | undefined>}
   */
  setting(key) {
    return this.db.get('meta', `setting:${key}`);
  }

  /** @param {string} key @param {unknown} value @returns {Promise<void>} */
  setSetting(key, value) {
    return this.db.put('meta', value, `setting:${key}`);
  }

  // ---------------------------------------------------------------- jobs that were put away

  /** @returns {Promise<import('./away_rows.js').AwayLine[]>} the newest first */
  async away() {
    // Asked at every drawing of the list, and most phones have none.
    const any = await this.memory.get('any_away', async () => (await this.db.keys('away')).length > 0);
    return any ? awayLines(this.db, (await this.syncNote('others')) ?? []) : [];
  }

  /** @param {OtherJob[]} listed all jobs of the server that this phone may see */
  hearListed(listed) {
    return forgetTitles(this.db, listed);
  }

  // ---------------------------------------------------------------- for the sync engine

  /** A job that is not here is asked for whole, whatever was once heard of it. @param {string} jobId @returns {Promise<void>} */
  async follow(jobId) {
    if (!(await this.known()).includes(jobId)) {
      await this.notes.drop([`server:${jobId}`, `since:${jobId}`]);
      this.memory.forget(`server:${jobId}`);
    }
    await this.db.run(['meta'], 'readwrite', (tx) => {
      const rows = tx.objectStore('meta');
      const request = rows.get('followed');
      request.onsuccess = () => {
        const list = request.result ?? [];
        if (!list.includes(jobId)) rows.put([...list, jobId], 'followed');
        this.db.nothingMore(tx);
      };
    });
    this.memory.forget('followed');
  }

  /** @returns {Promise<string[]>} ids of all jobs with entries here */
  known() {
    return this.memory.get('known', () => knownJobs(this.db));
  }

  /** @returns {Promise<string[]>} */
  async followed() {
    const list = await this.memory.get('followed', async () => (await this.db.get('meta', 'followed')) ?? []);
    return [...new Set([...(await this.known()), ...list])];
  }

  /** What the server held as of its last answer. @param {string} jobId @returns {Promise<Heard>} */
  heard(jobId) {
    return this.memory.get(`server:${jobId}`, () => readHeard(this.notes, jobId));
  }

  /** @param {string} jobId @returns {Promise<Vector>} the server's as of its last answer */
  async serverVector(jobId) {
    return (await this.heard(jobId)).have;
  }

  /** @param {string} jobId @returns {Promise<string | undefined>} what the server calls that answer */
  async serverStamp(jobId) {
    return (await this.heard(jobId)).stamp;
  }

  /** What the server wanted at its last answer. @returns {Promise<WantedPhotos>} */
  wanted() {
    return this.memory.get('wanted', () => readWanted(this.notes));
  }

  /**
   * Photos whose bytes the server lacked at its last answer, without those sent since.
   * @returns {Promise<ReadonlySet<string>>}
   */
  async wantedPhotos() {
    return (await this.wanted()).left;
  }

  /** @returns {Promise<string>} what the server calls its list of them; empty for one that has no name */
  async wantedStamp() {
    return (await this.wanted()).stamp;
  }

  /** @param {Iterable<string>} list @param {string} [stamp] @returns {Promise<void>} */
  async setWantedPhotos(list, stamp = '') {
    this.#keepWanted(await writeWanted(this.notes, list, stamp));
  }

  /**
   * @param {{wanted: string[], unwanted: string[], stamp: string}} changes @returns {Promise<void>}
   */
  async changeWantedPhotos(changes) {
    this.#keepWanted(await changeWanted(this.notes, await this.wanted(), changes));
  }

  /** These are on the server now. @param {Iterable<string>} hashes @returns {Promise<void>} */
  async notePhotosSent(hashes) {
    this.#keepWanted(await noteSent(this.notes, await this.wanted(), hashes));
  }

  /** @param {WantedPhotos} wanted */
  #keepWanted(wanted) {
    this.memory.keep('wanted', wanted);
    this.tellTabs('');
  }

  /** Tell the other tabs that what they remember may be old. @param {string} _jobId empty for no job */
  tellTabs(_jobId) {}

  /** @template {keyof SyncNotes} K @param {K} key @returns {Promise<SyncNotes[K] | undefined>} */
  syncNote(key) {
    return this.notes.get(`sync:${key}`);
  }

  /** @template {keyof SyncNotes} K @param {K} key @param {SyncNotes[K]} value @returns {Promise<void>} */
  setSyncNote(key, value) {
    return this.notes.put(`sync:${key}`, value);
  }
}
