/**
 * What is to be done about the photos of a job that only the server has: fetch them, ask first, wait, or
 * leave them.
 */

import { photosWait } from './metered.js';

export const ASK_FROM_BYTES = 10_000_000;

/** @typedef {'take' | 'leave'} PhotoWish what a person said of the photos of a job */
/** @typedef {'none' | 'fetch' | 'ask' | 'wait' | 'leave'} PhotoPlan */

/**
 * @param {{missing: unknown[], missing_bytes: number}} found
 * @param {PhotoWish | undefined} wish
 * @param {string | undefined} setting that of photos on a metered link
 * @param {import('./metered.js').LinkKind} link
 * @param {import('./engine.js').Trigger} by
 * @returns {PhotoPlan}
 */
export function photoPlan(found, wish, setting, link, by) {
  if (found.missing.length === 0) return 'none';
  if (wish === 'leave') return 'leave';
  const waits = photosWait(setting, link, by);
  if (wish === 'take') return waits ? 'wait' : 'fetch';
  // Nobody has been asked: what is small and costs nothing comes by itself.
  return link === 'metered' || photosWait(setting, link, 'timer') || found.missing_bytes > ASK_FROM_BYTES
    ? 'ask'
    : 'fetch';
}
