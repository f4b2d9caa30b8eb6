/** An entry in words, whatever its shape: it may be one that was set aside. */
import { listed, when } from '../../ui/format.js';
import { labelOf, recordName } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../ui/types.js').Entry} Entry */
/** @typedef {import('../../ui/types.js').Kind} Kind */
/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */

/** @param {App} app @param {JobView} view @param {Entry} entry @returns {string} */
export function entryWords(app, view, entry) {
  const own = plainFields(entry);
  const record = view.record(/** @type {Kind} */ (entry.kind), entry.record_id) ?? {
    id: entry.record_id,
    fields: own
  };
  const fields = Object.keys(own)
    .filter((name) => name !== 'run_id')
    .map((name) =>
      wordsOr(() => labelOf(app, entry.kind, name, { fields: { ...record.fields, ...own } }), name)
    );
  const what = wordsOr(() => recordName(app, view, entry.kind, record), entry.kind);
  return t('outbox.change', {
    what,
    fields: listed(fields.slice(0, 3)),
    when: wordsOr(() => when(entry.recorded_at), entry.recorded_at)
  });
}

/** An entry that was set aside may be of any shape. @param {Entry} entry @returns {FieldsByName} */
export function plainFields({ fields }) {
  return typeof fields === 'object' && fields !== null && !Array.isArray(fields) ? fields : {};
}

/**
 * @param {() => string} words
 * @param {unknown} value
 * @returns {string} the words, or the value as it came where it has none
 */
export function wordsOr(words, value) {
  try {
    return String(words());
  } catch {
    return typeof value === 'string' ? value : (JSON.stringify(value) ?? '');
  }
}
