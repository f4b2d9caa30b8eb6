/** Entries to the server and back, round after round, until both hold the same. */

import { Erasures } from './erasing.js';
import { SyncError } from './transport.js';
import { frameOf, isTooLarge } from '../records/entry_budget.js';
import { hearJobs, jobRequest, keepLists, keepRemarks, listsRequest } from './heard.js';

/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('../store/errors.js').StoreError} StoreError */
/** @typedef {{sent: number, received: number, setAside: number, bytes: number}} Counts */
/** @typedef {import('./wire.js').SyncRequest} SyncRequest */
/** @typedef {import('./wire.js').SyncAnswer} SyncAnswer */
/** @typedef {import('../store/job_view.js').Aside} Aside */
/**
 * What is left alone in this run: jobs, and writers in one job or in all, with the code why. `full`: there
 * is no room on the phone for what the server sends. `untold`: what the server has of a job, where there is
 * no room to note that it set something aside; it is sent again in the next run.
 * @typedef {{jobs: Map<string, string>, writers: HeldWriter[], full: boolean,
 *   untold: Map<string, Vector>}} Held
 */
/** @typedef {{writer: string, jobId: string | undefined, code: string}} HeldWriter */
/** @typedef {import('../store/job_view.js').Vector} Vector */
/** @typedef {import('./heard.js').Terms} Terms */
/**
 * Some of the jobs, whether they are all, and the photos that the server wants of others.
 * @typedef {{jobs: () => Promise<string[]>, all: () => boolean, wanted: Iterable<string>}} Part
 */
/**
 * @typedef {{store: Store, transport: import('./transport.js').Transport, batch:
 *   import('./backoff.js').BatchSize, counts: Counts, report: () => void}} Instruments
 */

export const PROTOCOL = 1;
const IDLE_ROUNDS = 3;
/** Why nothing more of a writer is taken in this run, at all or in one job; all of it stays on the phone. */
const OF_A_WRITER = new Set(['writer_foreign']);
const OF_A_WRITER_IN_A_JOB = new Set(['too_many_rejected', 'held_back_full']);
const TOO_LARGE = ['body_too_large', 'too_many_entries'];

/**
 * All jobs in one request, or in parts where the server takes fewer at once.
 * @param {Instruments} instruments
 * @returns {Promise<SyncError | undefined>} why something was held back that this phone may not bring; all of
 *   it stays here
 */
export async function exchangeEntries(instruments) {
  const { store } = instruments;
  /** @type {Held} */
  const held = { jobs: new Map(), writers: [], full: false, untold: new Map() };
  /** @type {Iterable<string>} photos that the server wants of the parts before */
  let elsewhere = [];
  let most = Infinity; // jobs in a request
  for (let at = 0; ; ) {
    /** @type {Part} */
    const part = {
      jobs: async () => (await store.followed()).slice(at, at + most),
      all: () => most === Infinity,
      wanted: elsewhere
    };
    try {
      await exchangePart(instruments, held, part);
      elsewhere = await store.wantedPhotos();
      at += most;
      if (at >= (await store.followed()).length) return whyHeld(held);
    } catch (error) {
      const named = (await part.jobs()).length;
      if (/** @type {SyncError} */ (error).code !== 'too_many_jobs' || named < 2) throw error;
      most = Math.ceil(named / 2);
    }
  }
}

/**
 * @param {Instruments} instruments
 * @param {Held} held
 * @param {Part} part
 * @returns {Promise<void>}
 */
async function exchangePart({ store, transport, batch, counts, report }, held, part) {
  /** @type {Terms} */
  const terms = { unlike: new Set(), stamps: true };
  const erasures = new Erasures(store);
  let idle = 0;
  while (idle < IDLE_ROUNDS) {
    const request = await makeRequest(store, batch, terms, held, part);
    const named = Object.keys(request.jobs);
    request.entries.push(...(await erasures.again(named, batch.size - request.entries.length)));
    const erased = await erasures.told(named);
    if (erased) request.erased = erased;
    let answer;
    try {
      answer = await transport.exchange(request);
    } catch (error) {
      const { code } = /** @type {SyncError} */ (error);
      if (code === 'request_malformed' && terms.stamps) {
        terms.stamps = false; // a server of an earlier version, put in the place of the one that gave them
        continue;
      }
      const tooLarge = TOO_LARGE.includes(code);
      const tried = request.entries.length;
      batch.shrink(tooLarge ? tried : undefined);
      // Too large is cured by a smaller batch at once; anything else waits its turn.
      if (tooLarge && batch.size < tried) continue;
      throw error;
    }
    batch.heard(answer.max_entries, answer.limits);
    batch.grow();
    counts.bytes += answer.bytes_sent ?? 0;
    await keepRemarks(store, answer, part.all());
    const moved = await takeAnswer(store, request, answer, terms, counts, held);
    const unsure = await keepLists(store, answer, part);
    const heard = await hearErasures(erasures, request, answer, held);
    const more = holdBack(held, request, answer) || heard || unsure;
    report();
    const goesOn = (answer.more && !held.full) || moved.unlike || more;
    if (!goesOn && !(await anythingLeft(store, held, part))) return;
    idle = moved.any || heard ? 0 : idle + 1;
  }
  throw new SyncError('no_progress');
}

/**
 * Honour what the office erased; a phone without any room does so once there is some.
 * @param {Erasures} erasures @param {SyncRequest} request @param {SyncAnswer} answer @param {Held} held
 * @returns {Promise<boolean>} whether there is more to say
 */
async function hearErasures(erasures, request, answer, held) {
  try {
    return await erasures.hear(request, answer);
  } catch (error) {
    if (/** @type {SyncError} */ (error).code !== 'storage_full') throw error;
    held.full = true;
    return false;
  }
}

/**
 * Note which jobs and writers the server does not take from this phone. They are asked about once in a run.
 * @param {Held} held @param {SyncRequest} request @param {SyncAnswer} answer
 * @returns {boolean} whether any is new
 */
function holdBack(held, request, answer) {
  const before = held.jobs.size + held.writers.length;
  for (const [jobId, state] of Object.entries(answer.jobs ?? {}))
    if (state.refused) held.jobs.set(jobId, state.refused);
  (answer.fates ?? []).forEach((fate, index) => {
    if (fate[1] !== 'not_taken') return;
    const [entry, code] = [request.entries[index], fate[2]];
    if (code === 'access_job' || code === 'data_damaged') held.jobs.set(entry.job_id, code);
    if (code && OF_A_WRITER.has(code)) holdWriter(held, entry.writer, undefined, code);
    if (code && OF_A_WRITER_IN_A_JOB.has(code)) holdWriter(held, entry.writer, entry.job_id, code);
  });
  return held.jobs.size + held.writers.length > before;
}

/** @param {Held} held @param {string} writer @param {string | undefined} jobId @param {string} code */
function holdWriter({ writers }, writer, jobId, code) {
  if (!writers.some((one) => one.writer === writer && one.jobId === jobId))
    writers.push({ writer, jobId, code });
}

/** @param {Held} held @returns {SyncError | undefined} */
function whyHeld({ jobs, writers, full }) {
  if (full) return new SyncError('no_room_to_receive', { retry: false });
  for (const code of jobs.values()) return new SyncError(code, { retry: false });
  for (const { code } of writers) return new SyncError(code, { retry: false });
  return undefined;
}

/**
 * What waits to go out of a job.
 * @param {Store} store
 * @param {string} jobId
 * @param {number} limit
 * @param {Held} held
 * @returns {Promise<Entry[]>}
 */
async function waiting(store, jobId, limit, held) {
  if (held.jobs.has(jobId)) return [];
  const server = new Map(Object.entries(await store.serverVector(jobId)));
  for (const [writer, number] of Object.entries(held.untold.get(jobId) ?? {})) server.set(writer, number);
  for (const one of held.writers)
    if (one.jobId === undefined || one.jobId === jobId) server.set(one.writer, Number.MAX_SAFE_INTEGER);
  return store.entriesBeyond(Object.fromEntries(server), jobId, limit);
}

/**
 * @param {Store} store
 * @param {import('./backoff.js').BatchSize} batch
 * @param {Terms} terms
 * @param {Held} held
 * @param {Part} part
 * @returns {Promise<SyncRequest>}
 */
async function makeRequest(store, batch, terms, held, part) {
  const { size } = batch;
  /** @type {SyncRequest['jobs']} */
  const jobs = {};
  /** @type {Entry[]} */
  const entries = [];
  for (const jobId of await part.jobs()) {
    if (held.jobs.has(jobId)) continue;
    jobs[jobId] = await jobRequest(store, jobId, terms);
    if (entries.length < size) entries.push(...(await waiting(store, jobId, size - entries.length, held)));
  }
  // Without "pull" the server gives as many as it takes; how many that is may not have been heard yet.
  const pull = held.full ? { pull: 0 } : batch.untroubled ? {} : { pull: size };
  const sent = entries.map((entry) => (isTooLarge(entry) ? frameOf(entry) : entry));
  const lists = terms.stamps ? await listsRequest(store, part.all()) : {};
  return { protocol: PROTOCOL, device_id: store.deviceId, jobs, entries: sent, ...pull, ...lists };
}

/**
 * @param {Store} store
 * @param {SyncRequest} request
 * @param {SyncAnswer} answer
 * @param {Terms} terms
 * @param {Counts} counts
 * @param {Held} held
 * @returns {Promise<{any: boolean, unlike: boolean}>} whether anything moved; whether a job has to send its
 *   vector
 */
async function takeAnswer(store, request, answer, terms, counts, held) {
  // Progress is what changes a vector; "kept already" alone must not keep the loop going for ever.
  let any = false;
  const marks = takeFates(request.entries, answer.fates ?? [], counts);
  const arrived = byJob(answer.entries ?? []);
  const touched = new Set([...arrived.keys(), ...marks.keys(), ...Object.keys(answer.aside ?? {})]);
  for (const jobId of touched) {
    const aside = { ...answer.aside?.[jobId], ...marks.get(jobId) };
    const fresh = await store.take(jobId, arrived.get(jobId) ?? [], aside).catch((error) => {
      if (/** @type {StoreError} */ (error).code !== 'storage_full') throw error;
      held.full = true;
      if (marks.has(jobId)) held.untold.set(jobId, {});
      return 0;
    });
    counts.received += fresh;
    if (fresh > 0) any = true;
  }
  const heard = await hearJobs(store, request, answer, terms, held.untold);
  return { any: any || heard.any, unlike: heard.unlike };
}

/**
 * @param {SyncRequest['entries']} sent @param {import('./wire.js').Fate[]} fates @param {Counts} counts
 * @returns {Map<string, Object<string, Aside>>} job to marks of what was set aside
 */
function takeFates(sent, fates, counts) {
  /** @type {Map<string, Object<string, Aside>>} */
  const aside = new Map();
  fates.forEach((fate, index) => {
    if (fate[1] === 'not_taken') return;
    counts.sent += 1;
    if (fate[1] !== 'set_aside') return;
    const [id, , code, reasons] = fate;
    counts.setAside += 1;
    const jobId = sent[index].job_id;
    aside.set(jobId, { ...aside.get(jobId), [id]: { code: String(code), reasons: reasons ?? {} } });
  });
  return aside;
}

/** @param {Entry[]} entries @returns {Map<string, Entry[]>} */
function byJob(entries) {
  /** @type {Map<string, Entry[]>} */
  const out = new Map();
  for (const entry of entries) {
    const list = out.get(entry.job_id);
    if (list) list.push(entry);
    else out.set(entry.job_id, [entry]);
  }
  return out;
}

/** @param {Store} store @param {Held} held @param {Part} part @returns {Promise<boolean>} */
async function anythingLeft(store, held, part) {
  for (const jobId of await part.jobs()) {
    if ((await waiting(store, jobId, 1, held)).length > 0) return true;
  }
  return false;
}
