/** Entries that are not on the disk yet: those that are written here, and those that come from elsewhere. */

import { isTooLarge } from '../records/entry_budget.js';
import { asErased } from './erasing.js';
import { StoreError } from './errors.js';
import { Seen } from './seen.js';

/** @typedef {import('./job_view.js').Aside} Aside */
/** @typedef {import('./job_view.js').Change} Change */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./job_view.js').ErasedEntry} ErasedEntry */
/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {{writer: string, device_id: string, recorded_at: string}} By */

/**
 * The entries of some changes, each of which has seen those before it.
 * @param {JobView} view
 * @param {Change[]} changes
 * @param {By} by
 * @param {number} last number that the writer has in this job
 * @returns {Entry[]}
 */
export function entriesOf(view, changes, by, last) {
  const seen = new Seen(view);
  return changes.map((change, index) => {
    const number = last + 1 + index;
    const found = seen.of(change, `${by.writer}:${number}`);
    /** @type {Entry} */
    const entry = {
      job_id: view.jobId,
      writer: by.writer,
      number,
      device_id: by.device_id,
      record_id: change.record_id,
      kind: change.kind,
      fields: JSON.parse(JSON.stringify(change.fields)),
      recorded_at: by.recorded_at
    };
    if (Object.keys(found).length) entry.seen = found;
    if (isTooLarge(entry)) throw new StoreError('entry_too_large');
    return entry;
  });
}

/**
 * What of entries from elsewhere is new and leaves no gap, as it may be kept, with the marks of those set
 * aside.
 * @param {JobView} view @param {Entry[]} entries @param {Object<string, Aside>} aside
 * @returns {{entries: Array<Entry | ErasedEntry>, marks: Array<Aside & {jobId: string, id: string}>}}
 */
export function newOf(view, entries, aside) {
  const heads = new Map(Object.entries(view.vector()));
  const fresh = entries.filter((entry) => {
    const follows = entry.job_id === view.jobId && entry.number === (heads.get(entry.writer) ?? 0) + 1;
    if (follows) heads.set(entry.writer, entry.number);
    return follows;
  });
  const kept = asErased(view.acts, fresh, aside);
  const marks = Object.entries(kept.aside)
    .filter(([id]) => !view.aside.has(id))
    .map(([id, mark]) => ({ jobId: view.jobId, id, ...mark }));
  return { entries: kept.entries, marks };
}
