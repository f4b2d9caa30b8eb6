/** The rows of the database, copied as they lie there. */

import { Output } from './phone_file.js';
import { t } from './words.js';

const NAME = 'fallbook';
const OPEN_WITHIN_MS = 10000;

/** @typedef {{files: File[], entries: number, photos: number}} Saved */
/** @typedef {(words: string) => void} Tell */

/** @param {Tell} tell @returns {Promise<Saved>} rejects with a sentence */
export function collect(tell) {
  return open().then((db) =>
    readAll(db, tell).then(
      (saved) => {
        db.close();
        return saved;
      },
      (error) => {
        db.close();
        throw error;
      }
    )
  );
}

/**
 * Whatever version is there; a database that is not there must not come into being.
 * @returns {Promise<IDBDatabase>}
 */
function open() {
  return new Promise((resolve, reject) => {
    let late = false;
    const timer = setTimeout(() => {
      late = true;
      reject(new Error(t('save.no_answer')));
    }, OPEN_WITHIN_MS);
    const request = indexedDB.open(NAME);
    request.onupgradeneeded = () => {
      /** @type {IDBTransaction} */ (request.transaction).abort();
    };
    request.onerror = () => {
      clearTimeout(timer);
      const name = request.error ? request.error.name : '';
      reject(new Error(name === 'AbortError' ? t('save.nothing') : t('save.not_opened', { name })));
    };
    request.onsuccess = () => {
      clearTimeout(timer);
      const db = request.result;
      db.onversionchange = () => db.close();
      if (late) db.close();
      else resolve(db);
    };
  });
}

/**
 * Row after row in one transaction, so that everything is of one moment.
 * @param {IDBDatabase} db
 * @param {Tell} tell
 * @returns {Promise<Saved>}
 */
function readAll(db, tell) {
  return new Promise((resolve, reject) => {
    const names = Array.from(db.objectStoreNames).filter((name) => name !== 'pages'); // a copy of entries
    if (names.length === 0) throw new Error(t('save.nothing'));
    const tx = db.transaction(names, 'readonly');
    const out = new Output();
    tx.onabort = () =>
      reject(new Error(tx.error ? t('save.not_read', { name: tx.error.name }) : t('save.broke_off')));
    tx.oncomplete = () => resolve({ files: out.end(), entries: out.entries, photos: out.photos });
    const readStore = (/** @type {string | undefined} */ name) => {
      if (!name) return;
      out.begin(name);
      const request = tx.objectStore(name).openCursor();
      request.onsuccess = () => {
        const cursor = request.result;
        if (!cursor) return readStore(names[names.indexOf(name) + 1]);
        out.row(name, cursor.key, cursor.value);
        if ((out.entries + out.photos) % 200 === 0)
          tell(
            t('save.so_far', {
              entries: t('save.entries', { n: out.entries }),
              photos: t('save.photos', { n: out.photos })
            })
          );
        return cursor.continue();
      };
    };
    readStore(names[0]);
  });
}
