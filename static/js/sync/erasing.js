/** What the office erased, on its way to this phone, and back to a server that forgot it. */

import { covers, stampLines, supersedes } from '../records/erasure.js';
import { entryId } from '../records/fold.js';
import { textDigest } from '../records/vectors.js';

/** @typedef {import('../records/erasure.js').Act} Act */
/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../store/store.js').Store} Store */
/** @typedef {import('./wire.js').SyncRequest} SyncRequest */
/** @typedef {import('./wire.js').SyncAnswer} SyncAnswer */

const [MAX_ACTS, MAX_AGAIN] = [200, 500]; // that a request may bring, or ask for

/** An act as the server made it. @param {Act} act @returns {Act} */
function asMade({ resent, ...act }) {
  return act;
}

/** What one run of the exchange has to say of erasures. */
export class Erasures {
  /** @type {Map<string, Act[]>} by job, acts that the server does not know */
  #brought = new Map();
  /** @type {Map<string, Map<string, Entry>>} by job, what an undone act had hidden: the server may lack it */
  #again = new Map();

  /** @param {Store} store */
  constructor(store) {
    this.store = store;
  }

  /**
   * The part `erased` of a request.
   * @param {string[]} jobIds
   * @returns {Promise<SyncRequest['erased']>}
   */
  async told(jobIds) {
    /** @type {NonNullable<SyncRequest['erased']>} */
    const told = {};
    for (const jobId of jobIds) {
      const view = await this.store.job(jobId);
      const again = view.holes().slice(0, MAX_AGAIN);
      if (view.acts.length === 0 && again.length === 0) continue;
      const stamp = view.acts.length ? await textDigest(stampLines(view.acts)) : '';
      const acts = (this.#brought.get(jobId) ?? []).slice(0, MAX_ACTS).map(asMade);
      told[jobId] = { stamp: stamp ?? '', acts, again };
    }
    return Object.keys(told).length ? told : undefined;
  }

  /** @param {string[]} jobIds @param {number} room @returns {Promise<Entry[]>} what goes once more */
  async again(jobIds, room) {
    /** @type {Entry[]} */
    const found = [];
    for (const jobId of jobIds) {
      const view = await this.store.job(jobId);
      const due = view.acts.filter((act) => act.state === 'undone' && !act.resent);
      if (due.length && !this.#again.has(jobId)) await this.#queue(jobId, due);
      found.push(...(this.#again.get(jobId)?.values() ?? []));
    }
    return found.slice(0, Math.max(0, room));
  }

  /** @param {string} jobId @param {Act[]} acts */
  async #queue(jobId, acts) {
    const queue = this.#again.get(jobId) ?? new Map();
    for (const entry of (await this.store.job(jobId)).entriesBeyond({})) {
      if (!entry.erased && acts.some((act) => covers(act, entry.writer, entry.number)))
        queue.set(entryId(entry), entry);
    }
    this.#again.set(jobId, queue);
    if (queue.size === 0) await this.store.noteResent(jobId);
  }

  /**
   * Take what an answer says of erasures.
   * @param {SyncRequest} request @param {SyncAnswer} answer
   * @returns {Promise<boolean>} whether there is more to say
   */
  async hear(request, answer) {
    let more = await this.#went(request.entries);
    for (const [jobId, told] of Object.entries(answer.erased ?? {})) {
      const { acts, entries = [], aside = {} } = told;
      if (await this.store.hearErasures(jobId, acts ?? [], entries, aside)) more = true;
      if (!acts || this.#brought.has(jobId)) continue;
      const known = new Map(acts.map((act) => [act.id, act]));
      const lacking = (await this.store.job(jobId)).acts.filter((act) => supersedes(act, known.get(act.id)));
      if (lacking.length === 0) continue;
      this.#brought.set(jobId, lacking);
      await this.#queue(
        jobId,
        lacking.filter((act) => act.state === 'undone')
      );
      more = true;
    }
    return more;
  }

  /** @param {SyncRequest['entries']} entries @returns {Promise<boolean>} whether some still has to go */
  async #went(entries) {
    let left = false;
    for (const [jobId, queue] of this.#again) {
      if (queue.size === 0) continue;
      for (const entry of entries) if (entry.job_id === jobId) queue.delete(entryId(entry));
      if (queue.size > 0) left = true;
      else await this.store.noteResent(jobId);
    }
    return left;
  }
}
