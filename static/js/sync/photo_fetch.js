/**
 * Photos from the server onto this phone, job by job, beside the exchange: what is sent does not wait for
 * them.
 */

import { isAway } from '../store/away_rows.js';
import { StoreError } from '../store/errors.js';
import { photosHere } from '../store/photos_here.js';
import { waitMs } from './backoff.js';
import { linkKind } from './metered.js';
import { photoPlan } from './photo_plan.js';
import { fetchPhoto } from './photo_stream.js';
import { SyncError } from './transport.js';

const LOCK = 'fallbook-photos';
const TELL_EVERY_MS = 200;
const SPARE_BYTES = 20_000_000; // for what is recorded meanwhile
const BAD_COPIES = 2;

/** @typedef {import('./engine.js').Trigger} Trigger */
/** @typedef {import('../store/photos_here.js').PhotosHere} PhotosHere */
/** @typedef {import('./photo_plan.js').PhotoPlan} PhotoPlan */
/** @typedef {{known: boolean, free_bytes: number}} Room */
/**
 * `code`: why the last attempt at this job ended: `offline`, `no_room`, or that of the error. `gone`: the
 * server said it has them not. `damaged`: came with another content than their record says, and were not
 * kept.
 * @typedef {PhotosHere & {plan: PhotoPlan, metered: boolean, fetching: boolean, bytes_done: number,
 *   bytes_total: number, code: string, message: string, free_bytes: number, damaged: number}} JobPhotos
 */
/**
 * @typedef {{store: import('../store/store.js').Store, transport: import('./transport.js').Transport, now: ()
 *   => Date, random: () => number, locks?: LockManager, link?: () => import('./metered.js').LinkKind, room?:
 *   () => Promise<Room>, shrink?: import('./photo_stream.js').Shrink}} Tools
 */

/** @returns {Promise<Room>} */
async function roomOfBrowser() {
  const estimate = await globalThis.navigator?.storage?.estimate?.().catch(() => undefined);
  const { quota = 0, usage = 0 } = estimate ?? {};
  return { known: quota > 0, free_bytes: Math.max(0, quota - usage) };
}

export class PhotoFetch {
  events = new EventTarget();
  /** @type {Promise<void> | undefined} */
  #running;
  /** @type {Trigger | undefined} asked for while one ran */
  #again;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;
  #failures = 0;
  #reportedAtMs = 0;
  /** @type {{jobId: string, bytes: number, whole: number}} */
  #now = { jobId: '', bytes: 0, whole: 0 };
  /**
   * @type {Map<string, {code: string, message: string, free_bytes: number}>} job to why it did not end well
   */
  #why = new Map();
  /** @type {Set<string>} the server has them not, whatever it said before */
  #gone = new Set();
  /** @type {Map<string, number>} how often each came damaged */
  #damaged = new Map();

  /** @param {Tools} instruments */
  constructor(instruments) {
    this.instruments = instruments;
    this.store = instruments.store;
  }

  /** How it stands with the photos of a job. @param {string} jobId @returns {Promise<JobPhotos>} */
  async ofJob(jobId) {
    const found = await this.#found(jobId);
    const fetching = this.#now.jobId === jobId;
    const bad = found.missing.filter(({ sha256 }) => this.#bad(sha256)).length;
    return {
      ...found,
      plan: await this.#plan(jobId, found, 'timer'),
      metered: this.#link() === 'metered',
      fetching,
      bytes_done: fetching ? Math.min(this.#now.bytes, this.#now.whole) : 0,
      bytes_total: fetching ? this.#now.whole : 0,
      damaged: bad,
      ...(this.#why.get(jobId) ?? { code: '', message: '', free_bytes: 0 })
    };
  }

  /** Fetch what this job lacks: a person said so. @param {string} jobId @returns {Promise<void>} */
  async take(jobId) {
    await this.store.setPhotoWish(jobId, 'take');
    this.#damaged.clear();
    this.#gone.clear();
    await this.run('button');
  }

  /**
   * Fetch one photo, whatever was said of the others of its job.
   * @param {string} jobId
   * @param {import('../store/photos_here.js').PhotoWanted} photo
   * @returns {Promise<void>} once it is kept
   */
  async takeOne(jobId, photo) {
    const { store, transport, shrink } = this.instruments;
    await fetchPhoto({ store, transport, shrink, came: () => undefined }, jobId, photo);
  }

  /** Leave on the server what this job lacks. @param {string} jobId @returns {Promise<void>} */
  async leave(jobId) {
    await this.store.setPhotoWish(jobId, 'leave');
    this.#tell(true);
  }

  /** Try no more by itself. */
  stop() {
    clearTimeout(this.#timer);
  }

  /** Fetch what is to come by itself. @param {Trigger} by @returns {Promise<void>} */
  async run(by) {
    if (this.#running) {
      this.#again = by === 'button' ? by : (this.#again ?? by);
      return this.#running;
    }
    clearTimeout(this.#timer);
    this.#running = this.#locked(by).finally(() => {
      this.#running = undefined;
    });
    await this.#running;
    const again = this.#again;
    this.#again = undefined;
    if (again) await this.run(again);
    return undefined;
  }

  /** @param {Trigger} by @returns {Promise<void>} */
  async #locked(by) {
    const { locks } = this.instruments;
    if (!locks) return this.#jobs(by);
    // Another tab that is at it tells of what it keeps.
    return locks.request(LOCK, { ifAvailable: true }, (lock) => (lock ? this.#jobs(by) : undefined));
  }

  /** @param {Trigger} by @returns {Promise<void>} */
  async #jobs(by) {
    for (const jobId of await this.store.followed()) {
      const found = await this.#found(jobId);
      if ((await this.#plan(jobId, found, by)) !== 'fetch') continue;
      if (!(await this.#job(jobId, found))) return;
    }
    this.#failures = 0;
  }

  /**
   * @param {string} jobId
   * @param {PhotosHere} found
   * @returns {Promise<boolean>} whether the next job may have its turn
   */
  async #job(jobId, found) {
    const wanted = found.missing.filter(({ sha256 }) => !this.#bad(sha256));
    const { known, free_bytes } = await (this.instruments.room ?? roomOfBrowser)();
    if (known && wanted.length && free_bytes < found.missing_bytes + SPARE_BYTES) {
      this.#ended(jobId, 'no_room', '', Math.max(0, free_bytes - SPARE_BYTES));
      return true; // a smaller job may fit
    }
    this.#now = { jobId, bytes: 0, whole: found.missing_bytes };
    this.#why.delete(jobId);
    this.#tell(true);
    try {
      let { acts } = await this.store.job(jobId);
      let left = new Set(wanted.map(({ sha256 }) => sha256));
      for (const photo of wanted) {
        if ((await this.store.photoWish(jobId)) === 'leave') break;
        const now = (await this.store.job(jobId)).acts;
        if (now !== acts) left = new Set((await this.#found(jobId)).missing.map(({ sha256 }) => sha256));
        acts = now;
        // What the office erased meanwhile is asked for no more.
        if (left.has(photo.sha256)) await this.#one(jobId, photo);
      }
      return true;
    } catch (error) {
      return this.#failed(jobId, error);
    } finally {
      this.#now = { jobId: '', bytes: 0, whole: 0 };
      this.#tell(true);
    }
  }

  /**
   * One that the server has not, or not right, holds up no other.
   * @param {string} jobId
   * @param {import('../store/photos_here.js').PhotoWanted} photo
   */
  async #one(jobId, photo) {
    const { sha256 } = photo;
    const { store, transport, shrink } = this.instruments;
    const before = this.#now.bytes;
    try {
      await fetchPhoto({ store, transport, shrink, came: (bytes) => this.#came(bytes) }, jobId, photo);
    } catch (error) {
      if (isAway(error)) return this.store.dropPhotoParts(sha256); // put away while it was on its way
      if (!(error instanceof SyncError)) throw error;
      if (error.status === 404) this.#gone.add(sha256);
      else if (error.code === 'photo_damaged')
        this.#damaged.set(sha256, (this.#damaged.get(sha256) ?? 0) + 1);
      else throw error;
      this.#now.bytes = before;
    }
  }

  /** @param {string} jobId @param {unknown} error @returns {boolean} */
  #failed(jobId, error) {
    if (error instanceof StoreError && error.code === 'storage_full') {
      this.#ended(jobId, 'no_room', error.message, 0);
      return false;
    }
    const {
      code = 'phone_fault',
      message = String(error),
      retry = true
    } = /** @type {Partial<SyncError>} */ (error ?? {});
    this.#ended(jobId, code, message, 0);
    this.#failures += 1;
    if (retry)
      this.#timer = setTimeout(() => void this.run('timer'), waitMs(this.#failures, this.instruments.random));
    return false;
  }

  /** @param {string} jobId @param {string} code @param {string} message @param {number} free_bytes */
  #ended(jobId, code, message, free_bytes) {
    this.#why.set(jobId, { code, message, free_bytes });
    this.#tell(true);
  }

  /** @param {string} sha256 */
  #bad(sha256) {
    return (this.#damaged.get(sha256) ?? 0) >= BAD_COPIES;
  }

  /**
   * What is missing, less what the server turned out not to have.
   * @param {string} jobId
   * @returns {Promise<PhotosHere>}
   */
  async #found(jobId) {
    const found = await photosHere(this.store, jobId);
    const gone = found.missing.filter(({ sha256 }) => this.#gone.has(sha256));
    if (gone.length === 0) return found;
    const missing = found.missing.filter(({ sha256 }) => !this.#gone.has(sha256));
    return {
      ...found,
      missing,
      missing_bytes: missing.reduce((sum, one) => sum + one.size_bytes, 0),
      absent: found.absent + gone.length
    };
  }

  /** @param {string} jobId @param {PhotosHere} found @param {Trigger} by @returns {Promise<PhotoPlan>} */
  async #plan(jobId, found, by) {
    return photoPlan(
      found,
      await this.store.photoWish(jobId),
      await this.store.setting('photos_metered'),
      this.#link(),
      by
    );
  }

  #link() {
    return (this.instruments.link ?? linkKind)();
  }

  /** @param {number} bytes */
  #came(bytes) {
    this.#now.bytes += bytes;
    this.#tell(false);
  }

  /** @param {boolean} atOnce */
  #tell(atOnce) {
    const nowMs = this.instruments.now().getTime();
    if (!atOnce && Math.abs(nowMs - this.#reportedAtMs) < TELL_EVERY_MS) return;
    this.#reportedAtMs = nowMs;
    this.events.dispatchEvent(new Event('changed'));
  }
}
