/**
 * What the server held of a job at its last answer: a vector, and beside it the few writers that went on
 * since, with the stamp of that answer. A vector of thousands of writers is not written again for one.
 */

import { differences, vectorDigest, withDifferences } from '../records/vectors.js';

/** @typedef {import('../records/vectors.js').Vector} Vector */
/**
 * `of`: the digest of the vector that it belongs to. An earlier version of the app writes that one alone.
 * @typedef {{of: string, have: Vector, stamp: string}} Since
 */
/** @typedef {{have: Vector, stamp?: string, base: Vector, of?: string}} Heard   `base`: as on the disk */

const FEW = 200;

/** @param {import('./notes.js').Notes} notes @param {string} jobId @returns {Promise<Heard>} */
export async function readHeard(notes, jobId) {
  const base = /** @type {Vector | undefined} */ (await notes.get(`server:${jobId}`)) ?? {};
  const since = /** @type {Partial<Since> | undefined} */ (await notes.get(`since:${jobId}`));
  if (!since?.stamp || !since.have) return { have: base, base };
  const of = await vectorDigest(base);
  if (!of || since.of !== of) return { have: base, base };
  return { have: withDifferences(base, since.have), stamp: since.stamp, base, of };
}

/**
 * @param {import('./notes.js').Notes} notes
 * @param {string} jobId
 * @param {Heard} before
 * @param {Vector} have
 * @param {string} [stamp] that the server gave with it
 * @returns {Promise<Heard>} once it is on the disk
 */
export async function writeHeard(notes, jobId, before, have, stamp) {
  const few = stamp && before.of ? differences(have, before.base) : undefined;
  if (few && Object.keys(few).length <= FEW) {
    await notes.put(`since:${jobId}`, { of: before.of, have: few, stamp });
    return { have, stamp, base: before.base, of: before.of };
  }
  // Where the browser has no SHA-256 there are no stamps.
  const of = stamp && (await vectorDigest(have));
  await notes.putAll([
    [`server:${jobId}`, have],
    [`since:${jobId}`, of ? { of, have: {}, stamp } : {}]
  ]);
  return of ? { have, stamp, base: have, of } : { have, base: have };
}
