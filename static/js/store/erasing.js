/** What acts of the eraser change on this phone: what is hidden, what goes for good, what comes back. */

import { CODE, frameOf, reasonsOf, standing, supersedes } from '../records/erasure.js';
import { entryId } from '../records/fold.js';
import { awayOr, onlyIfHere } from './away_rows.js';
import { dropPagesIn } from './page_rows.js';
import { dropPartsIn } from './photo_parts.js';
import { previewKey } from './photo_previews.js';

/** @typedef {import('../records/erasure.js').Act} Act */
/** @typedef {import('./job_view.js').JobView} JobView */
/** @typedef {import('./job_view.js').Entry} Entry */
/** @typedef {import('./job_view.js').ErasedEntry} ErasedEntry */
/** @typedef {import('./job_view.js').Aside} Aside */
/** @typedef {import('./entry_rows.js').AsideRow} AsideRow */
/** @typedef {import('./db.js').Database} Database */
/**
 * `put`: entries in the place of those that are here; `marks`: rows of what takes no part; `unmarked`: what
 * takes part again.
 * @typedef {{put: Array<Entry | ErasedEntry>, marks: AsideRow[], unmarked: Array<[string, string, number]>}}
 *   Plan
 */

/**
 * What a phone knows together with what it is told, an act in its latest state.
 * @param {Act[]} known @param {Act[]} told @returns {Act[] | undefined} undefined if none of it is news
 */
export function merged(known, told) {
  const acts = new Map(known.map((act) => [act.id, act]));
  const news = told.filter((act) => supersedes(act, acts.get(act.id)));
  for (const act of news) acts.set(act.id, act);
  return news.length ? [...acts.values()] : undefined;
}

/**
 * @param {JobView} view
 * @param {Act[]} acts all that are known
 * @param {Entry[]} back entries that came whole again
 * @param {Object<string, Aside>} aside of them
 * @returns {Plan}
 */
export function planOf(view, acts, back, aside) {
  /** @type {Plan} */
  const plan = { put: [], marks: [], unmarked: [] };
  const whole = new Map(back.map((entry) => [entryId(entry), entry]));
  for (const entry of view.entriesBeyond({})) {
    const id = entryId(entry);
    const act = standing(acts, entry);
    const mark = view.aside.get(id);
    if (act) {
      takeAway(plan, entry, act, mark);
    } else if (mark?.code === CODE && (!view.frames.has(id) || whole.has(id))) {
      const came = view.frames.has(id) && whole.get(id);
      if (came) plan.put.push(came);
      const why = view.frames.has(id) ? aside[id] : mark.was;
      if (why) plan.marks.push({ ...keyOf(entry), dismissed: false, ...why });
      else plan.unmarked.push([entry.job_id, entry.writer, entry.number]);
    }
  }
  return plan;
}

/** @param {Plan} plan @param {Entry} entry @param {Act} act @param {AsideRow} [mark] */
function takeAway(plan, entry, act, mark) {
  const gone = act.state === 'expunged';
  if (gone && !entry.erased) plan.put.push(frameOf(entry, act));
  if (mark?.code === CODE) {
    if (!gone || !mark.was) return;
    plan.marks.push({ ...keyOf(entry), ...why(mark), dismissed: true });
    return;
  }
  const was = mark && !gone ? { was: { ...why(mark), dismissed: mark.dismissed } } : {};
  plan.marks.push({ ...keyOf(entry), ...reasonsOf(act), dismissed: true, ...was });
}

/** @param {AsideRow} row */
function why({ code, reasons }) {
  return { code, reasons };
}

/** @param {Entry} entry */
function keyOf({ job_id, writer, number }) {
  return { job_id, writer, number };
}

/**
 * Entries as they may be kept: of what is expunged the frame alone. That an entry was erased is believed of
 * frames, and where an act says so.
 * @param {Act[]} acts @param {Entry[]} entries @param {Object<string, Aside>} aside
 * @returns {{entries: Array<Entry | ErasedEntry>, aside: Object<string, Aside>}} with the marks of what is
 *   erased
 */
export function asErased(acts, entries, aside) {
  /** @type {Map<string, Aside>} */
  const marks = new Map();
  const frames = new Set();
  const kept = entries.map((entry) => {
    const act = standing(acts, entry);
    if (act) marks.set(entryId(entry), reasonsOf(act));
    if (entry.erased) frames.add(entryId(entry));
    return act?.state === 'expunged' && !entry.erased ? frameOf(entry, act) : entry;
  });
  for (const [id, mark] of Object.entries(aside))
    if (mark.code !== CODE || frames.has(id)) marks.set(id, mark);
  return { entries: kept, aside: Object.fromEntries(marks) };
}

/**
 * Do what a plan says, all of it or nothing.
 * @param {Database} db @param {string} jobId @param {Act[]} acts @param {Plan} plan
 * @param {string[]} photos that go for good
 * @returns {Promise<void>}
 */
export async function writePlan(db, jobId, acts, plan, photos) {
  await db
    .write(['entries', 'aside', 'meta', 'photos', 'photo_parts', 'away', 'pages'], (tx) => {
      onlyIfHere(tx, jobId);
      dropPagesIn(tx, jobId);
      tx.objectStore('meta').put(acts, actsKey(jobId));
      for (const entry of plan.put) tx.objectStore('entries').put(entry);
      for (const row of plan.marks) tx.objectStore('aside').put(row);
      for (const key of plan.unmarked) tx.objectStore('aside').delete(key);
      for (const sha256 of photos) {
        tx.objectStore('photos').delete(sha256);
        tx.objectStore('meta').delete(previewKey(sha256));
        dropPartsIn(tx, sha256);
      }
    })
    .catch(async (error) => {
      throw await awayOr(db, jobId, error);
    });
}

/** @param {string} jobId @returns {string} */
export function actsKey(jobId) {
  return `erased:${jobId}`;
}

/**
 * The photos that expunged acts name, but for those that a record still shows, of whatever job.
 * @param {Act[]} acts @param {JobView[]} views @returns {string[]}
 */
export function photosGone(acts, views) {
  const shown = new Set(views.flatMap((view) => view.records('photo').map((one) => one.fields.sha256)));
  return acts
    .filter((act) => act.state === 'expunged')
    .flatMap((act) => act.photos.filter((sha256) => act.what === 'photo' || !shown.has(sha256)));
}
