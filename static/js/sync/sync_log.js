/** The last attempts to sync, for the surveyor to read: when, by what, and what came of each. */

/**
 * @typedef {{at: string, by: import('./engine.js').Trigger, state: string, took_ms: number, code?: string,
 *   message?: string, sent: number, received: number, setAside: number, photos: number, bytes: number,
 *   waiting: number}} Attempt
 */
/**
 * @typedef {{syncNote: (key: 'log') => Promise<Attempt[] | undefined>, setSyncNote: (key: 'log', value:
 *   Attempt[]) => Promise<void>}} Notes
 */

export const MAX_ATTEMPTS = 200;
const MAX_MESSAGE = 200;
const KEY = 'log';

/**
 * A log that cannot be written is no reason for a sync to fail.
 * @param {Notes} store
 * @param {Attempt} attempt
 * @returns {Promise<void>}
 */
export async function logAttempt(store, attempt) {
  try {
    const line = { ...attempt, message: attempt.message?.slice(0, MAX_MESSAGE) };
    await store.setSyncNote(KEY, [...(await readLog(store)), line].slice(-MAX_ATTEMPTS));
  } catch (error) {
    console.warn('sync log not written', error);
  }
}

/** @param {Notes} store @returns {Promise<Attempt[]>} oldest first */
export async function readLog(store) {
  return (await store.syncNote(KEY)) ?? [];
}
