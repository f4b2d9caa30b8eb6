/** What phone and server say to each other. Types only: webapp/sync/README.md tells what each part means. */

/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../records/erasure.js').Act} Act */
/** @typedef {import('../store/job_view.js').Vector} Vector */
/** @typedef {import('../store/job_view.js').Aside} Aside */

/**
 * What stands for an entry that is too large to be sent.
 * @typedef {Pick<Entry, 'job_id' | 'writer' | 'number'> & Partial<Pick<Entry, 'device_id' | 'record_id' |
 *   'kind' | 'recorded_at'>> & {too_large: true}} EntryFrame
 */
/** @typedef {{have?: Vector, digest?: string, since?: string}} JobRequest */
/** @typedef {{others?: string, photos?: string}} Lists   stamps of the lists that this phone keeps */
/**
 * @typedef {{protocol: number, device_id: string, jobs: Object<string, JobRequest>, entries: Array<Entry |
 *   EntryFrame>, pull?: number, lists?: Lists, photo_differences?: true, photo_remarks?: boolean,
 *   erased?: Object<string, ErasedKnown>}} SyncRequest
 */
/**
 * What a phone knows of a job's erasures, what it brings back, and what it wants whole again.
 * @typedef {{stamp: string, acts: Act[], again: string[]}} ErasedKnown
 */
/** @typedef {{acts?: Act[], entries?: Entry[], aside?: Object<string, Aside>}} ErasedTold */
/** @typedef {'kept' | 'kept_already' | 'set_aside' | 'not_taken'} Outcome */
/** @typedef {[id: string, outcome: Outcome, code?: string, reasons?: Aside['reasons']]} Fate */
/** @typedef {{job_id: string, title: string, site: string}} OtherJob   of the server */
/** @typedef {{note: string, photos: string[]}} PhotoRemarks   why no report will show some photos */
/** @typedef {OtherJob | {job_id: string, gone: true}} OtherChange */
/** @typedef {{have?: Vector, same?: true, refused?: string, since?: string, stamp?: string}} JobState */
/**
 * The server's answer. A server of another version may leave any part out.
 * @typedef {{entries?: Entry[], fates?: Fate[], aside?: Object<string, Object<string, Aside>>, jobs?:
 *   Object<string, JobState>, photos_wanted?: string[], photos_unwanted?: string[],
 *   photos_since?: string, photo_remarks?: PhotoRemarks[], others?: OtherJob[], others_since?: string,
 *   lists?: Lists, more?: boolean, max_entries?: number, limits?: unknown, bytes_sent?: number, erased?:
 *   Object<string, ErasedTold>}} SyncAnswer
 */

export {};
