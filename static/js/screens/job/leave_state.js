/** What is open in a job, as this phone can tell with no signal. Never stored. */
import { leaveItems, OF_A_RUN } from '../../figures/leave.js';
import { figuresOf } from '../parts/figures_of.js';

/** @typedef {import('../../survey/review/leave_site.js').RankedItem} RankedItem */
/** @typedef {import('../../survey/review/leave_site.js').Outside} Outside */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../../records/types.js').Kind} Kind */

/** @type {Kind[]} */
const OF_THE_JOB = ['job', 'node', 'check', 'photo'];
/** @type {WeakMap<object, {inputs: unknown[], items: RankedItem[]}>} by view of a job, what was found last */
const kept = new WeakMap();

/**
 * What the records alone say. Found anew only when one of them has changed.
 * @param {App} app
 * @param {HeldJob} view
 * @returns {RankedItem[]}
 */
export function openInRecords(app, view) {
  const kinds = /** @type {Kind[]} */ (['run', ...Object.keys(OF_A_RUN), ...OF_THE_JOB]).map((kind) =>
    view.records(kind)
  );
  const inputs = [...kinds.flat(), view.conflicts().length];
  const before = kept.get(view);
  if (before && before.inputs.length === inputs.length && before.inputs.every((one, i) => one === inputs[i]))
    return before.items;
  const items = found(app, view, {});
  kept.set(view, { inputs, items });
  return items;
}

/**
 * And what waits to be sent, or was set aside.
 * @param {App} app
 * @param {HeldJob} view
 * @returns {Promise<RankedItem[]>}
 */
export async function openWithOutbox(app, view) {
  const out = await app.store.outbox();
  const mine = out.entries.filter((one) => one.entry.job_id === view.jobId);
  const of = (/** @type {string} */ state) => mine.filter((one) => one.state === state).length;
  const photos = new Set(out.photos.filter((one) => one.job_id === view.jobId).map((one) => one.sha256));
  return found(app, view, {
    unsent_entries: of('unsent'),
    set_aside: of('set_aside'),
    unsent_photos: photos.size
  });
}

/** Photos of which nothing was measured: nothing is said of them. @param {HeldJob} view @returns {number} */
export function unmeasured(view) {
  return view.records('photo').filter((one) => (one.fields.brightness_pct ?? null) === null).length;
}

/**
 * Those of one run and of the job.
 * @param {RankedItem[]} items
 * @param {string | null} runId
 * @returns {RankedItem[]}
 */
export function concerning(items, runId) {
  return runId ? items.filter((one) => one.run_id === null || one.run_id === runId) : items;
}

/** @param {App} app @param {HeldJob} view @param {Outside} outside @returns {RankedItem[]} */
function found(app, view, outside) {
  const runs = view.records('run').map((run) => figuresOf(app, view, run).source);
  const records = Object.fromEntries(OF_THE_JOB.map((kind) => [kind, view.records(kind)]));
  return leaveItems(records, runs, { conflicts: view.conflicts(), ...outside }, app.tables);
}
