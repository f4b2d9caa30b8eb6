/** A whole job off this phone, by a person's choice: once the server has proved all of it there and then. */

import { CODE } from '../records/erasure.js';
import { isTooLarge } from '../records/entry_budget.js';
import { vectorDigest } from '../records/vectors.js';
import { photoUses } from '../store/job_room.js';
import { isoStamp } from '../store/ids.js';

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('../store/job_view.js').JobView} JobView */
/** @typedef {import('./transport.js').Transport} Transport */
/**
 * Why a job stays, and how many of them there are.
 * @typedef {{why: 'unsent' | 'photos_unsent' | 'set_aside' | 'only_here' | 'conflicts' | 'drafts' |
 *   'photos_unproved' | 'entries_unproved' | 'changed' | 'no_proof', n: number}} Obstacle
 */

const NOT_ON_SERVER = ['identity_taken', 'entry_too_large'];

/** @param {Store} store @param {JobView} view @returns {Promise<Obstacle[]>} as far as the phone knows by itself */
export async function obstacles(store, view) {
  const marks = [...view.aside].filter(([, { code }]) => code !== CODE);
  const again = view.acts.filter((act) => act.state === 'undone' && !act.resent).length;
  const here = new Set(await store.db.keys('photos'));
  const wanted = [...(await store.wantedPhotos())].filter((one) => here.has(one));
  const named = photoUses([view]);
  /** @type {Obstacle[]} */
  const all = [
    { why: 'unsent', n: view.countBeyond(await store.serverVector(view.jobId)) + again },
    { why: 'photos_unsent', n: wanted.filter((one) => named.has(one)).length },
    { why: 'set_aside', n: marks.filter(([, { dismissed }]) => !dismissed).length },
    {
      why: 'only_here',
      n: marks.filter(([id, { code, dismissed }]) => dismissed && isOnlyHere(view, id, code)).length
    },
    { why: 'conflicts', n: view.conflicts().length },
    { why: 'drafts', n: (await store.drafts(`/jobs/${view.jobId}`)).length }
  ];
  return all.filter(({ n }) => n > 0);
}

/**
 * Whether the server has another entry, or only the frame of one.
 * @param {JobView} view @param {string} id @param {string} code
 */
function isOnlyHere(view, id, code) {
  if (!NOT_ON_SERVER.includes(code)) return false;
  const entry = view.entry(id);
  return !entry || code === 'identity_taken' || isTooLarge(entry);
}

/**
 * @param {{store: Store, transport: Pick<Transport, 'photoProved' | 'jobProof'>, now: () => Date,
 *   report?: (done: number, total: number) => void}} instruments
 * @param {string} jobId
 * @returns {Promise<Obstacle[]>} why it stays, all of it; empty: it is put away. Rejects when the server is
 *   not reached or does not let this phone in
 */
export async function putAway({ store, transport, now, report }, jobId) {
  const view = await store.job(jobId);
  const found = await obstacles(store, view);
  if (found.length) return found;
  const have = view.vector();
  const marks = [...view.aside.values()].filter(({ code }) => code !== CODE).length;
  const { title = '' } = view.job?.fields ?? {};
  const photos = await ownPhotos(store, view);
  const here = photos.filter((one) => one.here);
  let unproved = 0;
  for (const [index, { sha256 }] of here.entries()) {
    report?.(index, here.length);
    if (!(await transport.photoProved(sha256))) unproved += 1;
  }
  if (unproved) return [{ why: 'photos_unproved', n: unproved }];
  const digest = await vectorDigest(have);
  if (!digest) return [{ why: 'no_proof', n: 1 }];
  if ((await transport.jobProof(jobId)) !== digest) return [{ why: 'entries_unproved', n: 1 }];
  const entries = Object.values(have).reduce((sum, n) => sum + n, 0);
  const row = { job_id: jobId, title: title ?? '', at: isoStamp(now()), entries, photos: here.length };
  const proved = { have, marks, photos: photos.map(({ sha256 }) => sha256) };
  return (await store.putAway(row, proved)) ? [] : [{ why: 'changed', n: 1 }];
}

/**
 * Pictures that this job names and no other one on this phone.
 * @param {Store} store @param {JobView} view @returns {Promise<Array<{sha256: string, here: boolean}>>}
 */
async function ownPhotos(store, view) {
  const views = await Promise.all((await store.known()).map((one) => store.job(one)));
  const others = photoUses(views.filter((one) => one !== view));
  const here = new Set(await store.db.keys('photos'));
  return [...photoUses([view])]
    .filter((sha256) => !others.has(sha256))
    .map((sha256) => ({ sha256, here: here.has(sha256) }));
}
