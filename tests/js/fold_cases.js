/** Folds entries on this side. Used by tests/sync/test_fold.py. */
import { Fold } from '../../static/js/records/fold.js';

/** @param {any[]} entries */
export function fold(entries) {
  return new Fold(entries).records();
}
