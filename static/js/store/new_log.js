/**
 * Has Chromium begin a new log for its databases.
 *
 * It writes every change to the end of a log, and goes on with the same one after it was killed. If the last
 * record was cut off in the middle, what is written behind it cannot be read: the next opening but one finds
 * "checksum mismatch" and throws the whole database away, with all that was told as saved. Where a database
 * is deleted, it puts what it has read so far into a table and begins a new log.
 */

const SCRATCH = 'fallbook-new-log'; // empty, and there for a moment

/** Nothing waits for it: what goes wrong leaves the log as it is. */
export function beginNewLog() {
  if (!isChromium()) return;
  const request = indexedDB.open(SCRATCH, 1);
  request.onsuccess = () => {
    request.result.close();
    indexedDB.deleteDatabase(SCRATCH);
  };
  request.onerror = (event) => event.preventDefault();
}

/** The only one that says of a database that it was damaged and thrown away. */
function isChromium() {
  return typeof IDBVersionChangeEvent !== 'undefined' && 'dataLoss' in IDBVersionChangeEvent.prototype;
}
