/** What a change has seen of its record. */

import { EVERYTHING } from '../records/fold.js';

/** @typedef {import('../records/fold.js').Standing} Standing */
/** @typedef {import('./job_view.js').Change} Change */
/** @typedef {import('./job_view.js').JobView} JobView */

/**
 * Computes `seen` for a series of changes, each of which has seen those before it.
 */
export class Seen {
  /** @param {JobView} view */
  constructor(view) {
    this.view = view;
    /** @type {Map<string, Standing>} */
    this.touched = new Map();
  }

  /**
   * @param {Change} change
   * @param {string} id the new entry's identity
   * @returns {Standing}
   */
  of(change, id) {
    const key = `${change.kind}/${change.record_id}`;
    let standing = this.touched.get(key);
    if (!standing) {
      standing = { ...(change.shown ?? this.view.record(change.kind, change.record_id)?.standing) };
      this.touched.set(key, standing);
    }
    /** @type {Standing} */
    const seen = {};
    if (change.fields.removed) {
      const ids = Object.entries(standing).flatMap(([name, list]) => (name === 'removed' ? [] : list));
      seen[EVERYTHING] = [...new Set(ids)];
    }
    for (const name of Object.keys(change.fields)) {
      if (standing[name]?.length) seen[name] = standing[name];
      standing[name] = [id];
    }
    return seen;
  }
}
