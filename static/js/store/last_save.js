/**
 * A line on the newest save, kept beside the database: where the browser has lost the database, or the end
 * of it, the next opening says so instead of showing a phone on which nothing ever was.
 */

import { MARK } from './db.js';

const LAST = 'fallbook-last-save';
const LOST = 'fallbook-lost';

/**
 * `device_id`: of the database it went to; `entry`: the key of the newest entry, null once its job was put
 * away; `at`: when, in UTC; `unsent`: entries and photos that the server lacked when last counted, null if
 * not counted since.
 * @typedef {{device_id: string, entry: [string, string, number] | null, at: string, unsent: number | null}}
 *   LastSave
 */
/** @typedef {import('./db.js').Database} Database */
/** `part`: the whole database, or its end. @typedef {LastSave & {part: 'all' | 'newest'}} Lost */

/** Of a save whose line the browser has lost too: it keeps a new line a few seconds later. @type {LastSave} */
const UNKNOWN = { device_id: '', entry: null, at: '', unsent: null };

/** @returns {LastSave | undefined} */
export function lastSave() {
  return read(LAST);
}

/** It is on the disk. @param {LastSave} line */
export function noteSave(line) {
  write(LAST, line);
}

/**
 * @param {number} unsent as counted
 * @param {LastSave | undefined} before what was saved last when the counting began
 */
export function noteUnsent(unsent, before) {
  const now = lastSave();
  if (!now || String(now.entry) !== String(before?.entry) || now.unsent === unsent) return;
  write(LAST, { ...now, unsent });
}

/** A job leaves by a person's choice, and its entries with it. @param {string} jobId */
export function noteAway(jobId) {
  const line = lastSave();
  if (line?.entry?.[0] === jobId) write(LAST, { ...line, entry: null });
}

/** A person has read of it. @param {boolean} begunAnew whether the database that was lost is still noted */
export function forgetLoss(begunAnew) {
  write(LOST);
  if (begunAnew) write(LAST);
}

/**
 * What was told as saved and is not in the database that opens now. Told at every opening until a person has
 * read it, whatever is saved meanwhile.
 * @param {Database} db @returns {Promise<Lost | undefined>}
 */
export async function lostBefore(db) {
  const told = /** @type {Lost | undefined} */ (read(LOST));
  const line = lastSave();
  const part = await missing(db, line);
  if (!part) return told;
  const lost = told?.part === 'all' ? told : { ...(line ?? UNKNOWN), part };
  write(LOST, lost);
  write(LAST);
  return lost;
}

/** @param {Database} db @param {LastSave} [line] @returns {Promise<Lost['part'] | undefined>} */
function missing(db, line) {
  const entry = line?.entry;
  return db.run(['meta', 'entries', 'away'], 'readonly', (tx, done) => {
    const named = tx.objectStore('meta').get(MARK);
    const away = entry && tx.objectStore('away').count(entry[0]);
    const here = entry && tx.objectStore('entries').count(entry);
    (here ?? named).onsuccess = () => {
      if (db.thrownAway || (line && named.result !== line.device_id)) return done('all');
      if (!away || !here || here.result > 0) return done(undefined);
      if (away.result > 0) noteAway(entry[0]); // the page went before it could note it
      return done(away.result > 0 ? undefined : 'newest');
    };
  });
}

/** @param {string} key @returns {LastSave | undefined} */
function read(key) {
  try {
    const line = JSON.parse(localStorage.getItem(key) ?? 'null');
    const [jobId, writer, number] = line.entry ?? ['', '', 0];
    const sound = [line.device_id, line.at, jobId, writer].every((one) => typeof one === 'string');
    return sound && Number.isInteger(number) ? line : undefined;
  } catch {
    return undefined; // nothing is noted, or the browser keeps no such lines
  }
}

/** @param {string} key @param {LastSave} [line] */
function write(key, line) {
  try {
    if (line) localStorage.setItem(key, JSON.stringify(line));
    else localStorage.removeItem(key);
  } catch {
    // then the next opening can only show what it finds
  }
}
