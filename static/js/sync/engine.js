/** The sync engine: one runner per phone, a status that is the truth of the last answer. No DOM. */

import { isoStamp } from '../store/ids.js';
import { BatchSize, PieceSize, waitMs } from './backoff.js';
import { exchangeEntries } from './exchange.js';
import { otherJobs } from './heard.js';
import { linkKind, photosWait } from './metered.js';
import { PhotoFetch } from './photo_fetch.js';
import { uploadPhotos } from './photo_upload.js';
import { logAttempt } from './sync_log.js';
import { makeTransport, SyncError } from './transport.js';
import { startTriggers } from './triggers.js';

/** @typedef {'open' | 'save' | 'online' | 'visible' | 'button' | 'timer' | 'worker'} Trigger */
/**
 * `bytes`: as handed to the browser for sending. `waiting`: photos left for a link that costs nothing.
 * @typedef {{sent: number, received: number, setAside: number, photos: number, bytes: number, waiting:
 *   number}} Counts
 */
/**
 * @typedef {{done: number, total: number, bytes_done: number, bytes_total: number}} Progress bytes are those
 *   of photos
 */
/**
 * @typedef {{state: 'sent' | 'offline' | 'busy' | 'failed', code?: string, message?: string} & Counts}
 *   RunResult
 */
/**
 * @typedef {{state: 'all_sent' | 'unsent' | 'sending' | 'failed', unsent: number, photos_unsent: number,
 *   last_ok_at?: string, counting?: boolean, photos_wait?: boolean, last_code?: string, last_message?:
 *   string, progress?: Progress}} SyncStatus
 */
/**
 * @typedef {{store: import('../store/store.js').Store, fetch: typeof fetch, locks?: LockManager, now: () =>
 *   Date, random: () => number, link?: () => import('./metered.js').LinkKind, shrink?:
 *   import('./photo_stream.js').Shrink}} Tools
 */

const LOCK = 'fallbook-sync';
const BUSY_AGAIN_MS = 3000;
/** @type {Trigger[]} */
const AT_ONCE = ['button', 'online', 'visible', 'open'];

/** @returns {Counts} */
function nothing() {
  return { sent: 0, received: 0, setAside: 0, photos: 0, bytes: 0, waiting: 0 };
}

/** @param {Tools} instruments @returns {Sync} */
export function makeSync(instruments) {
  return new Sync(instruments);
}

export class Sync {
  /** @type {Promise<RunResult> | undefined} */
  #running;
  /** @type {Promise<RunResult> | undefined} */
  #next;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  #timer;
  #batch = new BatchSize();
  #piece = new PieceSize();
  #lastTryMs = 0;
  failures = 0;

  /** @param {Tools} instruments */
  constructor(instruments) {
    this.store = instruments.store;
    this.instruments = instruments;
    this.transport = makeTransport(instruments);
    this.events = new EventTarget();
    /** What comes the other way, beside the runs. */
    this.photos = new PhotoFetch({ ...instruments, transport: this.transport });
    this.started = false;
    /** @type {SyncStatus} */
    this.status = { state: 'unsent', unsent: 0, photos_unsent: 0, counting: true };
  }

  /** Start the triggers. @returns {() => void} stops them */
  start() {
    this.started = true;
    return startTriggers(this);
  }

  /**
   * Send and fetch. Asked again while one runs, it runs once more, so that what was saved meanwhile goes too.
   * @param {{by?: Trigger}} [how] @returns {Promise<RunResult>}
   */
  run({ by = 'button' } = {}) {
    if (AT_ONCE.includes(by)) this.failures = 0;
    if (this.#running) {
      this.#next ??= this.#running.then(() => {
        this.#next = undefined;
        return this.run({ by });
      });
      return this.#next;
    }
    this.#running = this.#locked(by).finally(() => {
      this.#running = undefined;
    });
    return this.#running;
  }

  /** @param {Trigger} by @returns {Promise<RunResult>} */
  async #locked(by) {
    clearTimeout(this.#timer);
    this.#lastTryMs = this.instruments.now().getTime();
    const { locks } = this.instruments;
    if (!locks) return this.#once(by);
    const result = await locks.request(LOCK, { ifAvailable: true }, (lock) =>
      lock ? this.#once(by) : undefined
    );
    if (result) return result;
    this.#again(BUSY_AGAIN_MS);
    if (this.status.counting) await this.refresh().catch(() => {});
    return { state: 'busy', code: 'busy', ...nothing() };
  }

  /** One attempt, and its line in the log. @param {Trigger} by @returns {Promise<RunResult>} */
  async #once(by) {
    const begun = this.instruments.now();
    const counts = nothing();
    const result = await this.#attempt(by, counts).catch((error) => this.#failed(error, counts));
    if (this.started && result.state !== 'offline') void this.photos.run(by);
    await logAttempt(this.store, {
      by,
      at: isoStamp(begun),
      took_ms: this.instruments.now().getTime() - begun.getTime(),
      ...result
    });
    return result;
  }

  /** @param {Trigger} by @param {Counts} counts @returns {Promise<RunResult>} */
  async #attempt(by, counts) {
    const { store, transport } = this;
    if (this.status.counting) await this.refresh(); // what waits is known before anybody answers
    const { total, bytes_total } = await this.#toSend();
    let entryBytes = 0;
    const report = () => {
      const done = Math.min(total, counts.sent + counts.photos);
      const bytes_done = Math.min(bytes_total, counts.bytes - entryBytes);
      if (total > 0) this.#tell({ state: 'sending', progress: { done, total, bytes_done, bytes_total } });
    };
    report();
    const reportEntries = () => {
      entryBytes = counts.bytes;
      report();
    };
    const held = await exchangeEntries({
      store,
      transport,
      batch: this.#batch,
      counts,
      report: reportEntries
    });
    if (photosWait(await store.setting('photos_metered'), (this.instruments.link ?? linkKind)(), by)) {
      counts.waiting = (await store.outbox()).counts.photos;
    } else {
      await uploadPhotos({ store, transport, piece: this.#piece, counts, report });
    }
    if (held) throw held; // all else went
    this.failures = 0;
    const last_ok_at = isoStamp(this.instruments.now());
    await store.setSyncNote('last_ok_at', last_ok_at);
    await this.refresh({
      last_ok_at,
      last_code: undefined,
      last_message: undefined,
      photos_wait: counts.waiting > 0
    });
    return { state: 'sent', ...counts };
  }

  /** @returns {Promise<{total: number, bytes_total: number}>} */
  async #toSend() {
    const { counts, photos } = await this.store.outbox();
    const sizes = new Map(photos.map((photo) => [photo.sha256, photo.size_bytes]));
    return {
      total: counts.entries + counts.photos,
      bytes_total: [...sizes.values()].reduce((sum, size) => sum + size, 0)
    };
  }

  /** @param {unknown} error @param {Counts} counts @returns {Promise<RunResult>} */
  async #failed(error, counts) {
    this.failures += 1;
    const fault = /** @type {Partial<SyncError> | undefined} */ (error);
    const code = String(fault?.code ?? 'phone_fault');
    const message = String(fault?.message ?? error);
    await this.refresh({ last_code: code, last_message: message }).catch(() => {
      this.#tell({
        state: 'failed',
        last_code: code,
        last_message: message,
        progress: undefined,
        counting: false
      });
    });
    const { unsent, photos_unsent } = this.status;
    const worthIt = !(error instanceof SyncError) || error.retry;
    if (unsent + photos_unsent > 0 && worthIt) this.#again(waitMs(this.failures, this.instruments.random));
    return { state: code === 'offline' ? 'offline' : 'failed', code, message, ...counts };
  }

  /** @param {number} ms */
  #again(ms) {
    if (!this.started) return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.run({ by: 'timer' }), ms);
  }

  /** @returns {number} ms since the last attempt began */
  get sinceLastTryMs() {
    return Math.abs(this.instruments.now().getTime() - this.#lastTryMs);
  }

  /** @returns {boolean} */
  get busy() {
    return this.#running !== undefined;
  }

  /** Count again what is unsent. @param {Partial<SyncStatus>} [more] @returns {Promise<void>} */
  async refresh(more = {}) {
    const last_ok_at = this.status.last_ok_at ?? (await this.store.syncNote('last_ok_at'));
    const { entries, photos } = (await this.store.outbox()).counts;
    const last_code = 'last_code' in more ? more.last_code : this.status.last_code;
    /** @type {SyncStatus['state']} */
    let state = entries + photos > 0 ? 'unsent' : 'all_sent';
    // With no signal "n to send" is the whole truth; "could not send" is for a server that said no.
    if (last_code && last_code !== 'offline') state = 'failed';
    this.#tell({
      last_ok_at,
      ...more,
      state,
      unsent: entries,
      photos_unsent: photos,
      progress: undefined,
      counting: false
    });
  }

  /** @param {Partial<SyncStatus>} change */
  #tell(change) {
    this.status = { ...this.status, ...change };
    this.events.dispatchEvent(new Event('status'));
  }

  /** @returns {Promise<import('./wire.js').OtherJob[]>} */
  others() {
    return otherJobs(this.store);
  }

  /** Follow a job of the server and fetch it. @param {string} jobId @returns {Promise<RunResult>} */
  async takeJob(jobId) {
    await this.store.follow(jobId);
    return this.run({ by: 'button' });
  }
}
