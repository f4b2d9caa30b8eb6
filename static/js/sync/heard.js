/** What the server says of whole jobs and in its lists: asked for by stamp, so that only changes come. */

import { differences, heldOf, sameVector, vectorDigest, withDifferences } from '../records/vectors.js';

/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('../records/vectors.js').Vector} Vector */
/** @typedef {import('./wire.js').SyncRequest} SyncRequest */
/** @typedef {import('./wire.js').SyncAnswer} SyncAnswer */
/** @typedef {import('./wire.js').JobRequest} JobRequest */
/** @typedef {import('./wire.js').JobState} JobState */
/** @typedef {import('./wire.js').OtherJob} OtherJob */
/**
 * `unlike`: jobs that the server remembers otherwise, which send their vector. `stamps`: whether it knows
 * any.
 * @typedef {{unlike: Set<string>, stamps: boolean}} Terms
 */

/**
 * What a request says of one job: what differs from the vector at a stamp, a digest, or the vector.
 * @param {Store} store @param {string} jobId @param {Terms} terms @returns {Promise<JobRequest>}
 */
export async function jobRequest(store, jobId, { unlike, stamps }) {
  const have = await store.vector(jobId);
  if (unlike.has(jobId)) return { have };
  const [server, stamp] = [await store.serverVector(jobId), await store.serverStamp(jobId)];
  if (stamp && stamps) return { since: stamp, have: differences(have, server) };
  const agreed = Object.keys(have).length > 0 && sameVector(have, server);
  const digest = agreed ? await vectorDigest(have) : undefined;
  return digest ? { digest } : { have };
}

/**
 * @param {Store} store @param {boolean} all whether all jobs are named
 * @returns {Promise<Pick<SyncRequest, 'lists' | 'photo_differences' | 'photo_remarks'>>}
 */
export async function listsRequest(store, all) {
  const [others, photos] = [await store.syncNote('others_stamp'), await store.wantedStamp()];
  const lists = { ...(others && { others }), ...(all && photos && { photos }) };
  const photo_remarks = all && (await store.syncNote('remarks_heard')) === true;
  return all ? { lists, photo_differences: true, photo_remarks } : { lists, photo_remarks };
}

/**
 * Keep what the server says of photos that no report will show: before any stamp, so that it is told again
 * where it is not kept.
 * @param {Store} store @param {SyncAnswer} answer @param {boolean} all whether all jobs were named
 * @returns {Promise<void>}
 */
export async function keepRemarks(store, { photo_remarks }, all) {
  if (!photo_remarks) return;
  await store.notePhotos(photo_remarks);
  if (all && (await store.syncNote('remarks_heard')) !== true) await store.setSyncNote('remarks_heard', true);
}

/**
 * Keep what the server holds of the jobs of a request.
 * @param {Store} store @param {SyncRequest} request @param {SyncAnswer} answer @param {Terms} terms
 * @param {Map<string, Vector>} untold what is held of jobs of which there is no room to note it
 * @returns {Promise<{any: boolean, unlike: boolean}>} whether anything is new; whether a job has to send its
 *   vector
 */
export async function hearJobs(store, request, answer, { unlike }, untold) {
  const found = { any: false, unlike: false };
  for (const [jobId, state] of Object.entries(answer.jobs ?? {})) {
    const before = await store.serverVector(jobId);
    const heard = heardOf(request, jobId, state, before);
    const { digest, since } = request.jobs[jobId] ?? {};
    if (state.have && (digest || since) && !state.since) {
      unlike.add(jobId);
      found.unlike = true;
    }
    const held = untold.get(jobId);
    if (held && state.have) {
      if (!sameVector(heard, held)) found.any = true;
      untold.set(jobId, heard);
      continue;
    }
    const same = sameVector(heard, before);
    if (same && (state.refused || state.stamp === (await store.serverStamp(jobId)))) continue;
    await store.setServerVector(
      jobId,
      heard,
      unlike.has(jobId) && (digest || since) ? undefined : state.stamp
    );
    if (!same) found.any = true;
  }
  return found;
}

/**
 * The server's vector as far as this phone has heard the outcome of what it holds. After a lost answer the
 * server may hold entries of which the phone was never told that they were set aside: those are sent once
 * more.
 * @param {SyncRequest} request
 * @param {string} jobId
 * @param {JobState} state what the server says of the job
 * @param {Vector} before what was heard until now
 * @returns {Vector}
 */
function heardOf(request, jobId, state, before) {
  if (!state.have) return before;
  const covered = new Map(Object.entries(before));
  for (const { job_id, writer, number } of request.entries) {
    if (job_id === jobId && number > (covered.get(writer) ?? 0)) covered.set(writer, number);
  }
  const here = request.jobs[jobId]?.have ?? {};
  const heard = Object.entries(state.have).map(([writer, number]) => {
    const most = covered.get(writer) ?? 0;
    return [writer, heldOf(here, writer) > most ? Math.min(number, most) : number];
  });
  return withDifferences(state.since ? before : {}, Object.fromEntries(heard));
}

/**
 * Keep what the server said of photos and of other jobs; what it left out is as before.
 * @param {Store} store
 * @param {SyncAnswer} answer
 * @param {{wanted: Iterable<string>, all: () => boolean}} part photos that it wants of jobs that were not
 *   named; whether all were
 * @returns {Promise<boolean>} whether the list of photos is not sure, and has to be told whole
 */
export async function keepLists(store, answer, part) {
  const unsure = await keepWanted(store, answer, part);
  await keepOthers(store, answer);
  return unsure;
}

/**
 * @param {Store} store @param {SyncAnswer} answer
 * @param {{wanted: Iterable<string>, all: () => boolean}} part @returns {Promise<boolean>}
 */
async function keepWanted(store, { photos_wanted, photos_unwanted, photos_since, lists }, part) {
  const stamp = (part.all() && lists?.photos) || '';
  const before = await store.wanted();
  if (photos_since === undefined && photos_wanted) {
    const wanted = new Set([...part.wanted, ...photos_wanted]);
    const same = wanted.size === before.left.size && [...wanted].every((sha256) => before.left.has(sha256));
    if (!same || stamp !== before.stamp) await store.setWantedPhotos(wanted, stamp);
    return false;
  }
  if (!stamp || (stamp === before.stamp && before.sent.size === 0)) return false;
  const known = photos_since === undefined || photos_since === before.stamp;
  const changes = { wanted: photos_wanted ?? [], unwanted: photos_unwanted ?? [], stamp: known ? stamp : '' };
  await store.changeWantedPhotos(changes);
  return (await store.wantedStamp()) === '';
}

/** @param {Store} store @param {SyncAnswer} answer */
async function keepOthers(store, { others, others_since, lists }) {
  const before = (others && (await store.syncNote('others'))) ?? [];
  const now = others && (others_since ? changed(before, others) : others);
  // The list before its stamp: should that be lost, the same changes come again.
  if (now && JSON.stringify(now) !== JSON.stringify(before)) {
    await store.setSyncNote('others', now);
    await store.hearListed(now);
  }
  const stamp = lists?.others ?? '';
  if (stamp !== ((await store.syncNote('others_stamp')) ?? ''))
    await store.setSyncNote('others_stamp', stamp);
}

/** @param {OtherJob[]} before @param {import('./wire.js').OtherChange[]} changes @returns {OtherJob[]} */
function changed(before, changes) {
  const found = new Map(before.map((one) => [one.job_id, one]));
  for (const one of changes) {
    if ('gone' in one) found.delete(one.job_id);
    else found.set(one.job_id, one);
  }
  return [...found.values()];
}

/** @param {Store} store @returns {Promise<OtherJob[]>} jobs of the server that this phone does not follow */
export async function otherJobs(store) {
  const here = new Set(await store.followed());
  return ((await store.syncNote('others')) ?? []).filter(({ job_id }) => !here.has(job_id));
}
