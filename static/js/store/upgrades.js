/**
 * The steps of the phone's database, oldest first. The step at index n makes version n + 1.
 * A step is never edited after a release and never drops or recreates a store: what a surveyor
 * recorded lives nowhere else.
 */

/** @type {Array<(db: IDBDatabase, tx: IDBTransaction) => void>} */
export const UPGRADES = [
  (db) => {
    db.createObjectStore('entries', { keyPath: ['job_id', 'writer', 'number'] });
    db.createObjectStore('aside', { keyPath: ['job_id', 'writer', 'number'] });
    db.createObjectStore('photos', { keyPath: 'sha256' });
    db.createObjectStore('drafts');
    db.createObjectStore('meta');
  },
  (db) => {
    db.createObjectStore('photo_parts', { keyPath: ['sha256', 'offset'] });
  },
  (db) => {
    db.createObjectStore('away', { keyPath: 'job_id' });
  },
  (db) => {
    db.createObjectStore('pages', { keyPath: ['job_id', 'name', 'at'] });
  }
];
