/** What can go wrong between "save" and "saved". Every failure of the store is one of these. */

/** @typedef {'storage_full' | 'storage_blocked' | 'storage_no_answer' | 'storage_failed'} StoreErrorCode */

/** @type {Record<StoreErrorCode, string>} */
const SENTENCES = {
  storage_full:
    'The phone has no room left. Nothing of this was saved. Free some space, or save the job to a file.',
  storage_blocked:
    'Fallbook is open in another tab in another version. Close the other tabs, then open it again.',
  storage_no_answer:
    'The phone’s storage does not answer. Try again; if it stays like this, switch the phone off and on.',
  storage_failed: 'The phone could not save this. What you typed is still on the screen.'
};

export class StoreError extends Error {
  /** @param {StoreErrorCode} code @param {string} [detail] @param {unknown} [cause] */
  constructor(code, detail = '', cause = undefined) {
    super(`${SENTENCES[code]} ${detail}`.trim(), { cause });
    this.name = 'StoreError';
    /** @type {StoreErrorCode} */
    this.code = code;
  }
}

/** @param {any} error @returns {StoreError} */
export function asStoreError(error) {
  if (error instanceof StoreError) return error;
  const name = String(error?.name ?? '');
  if (name === 'QuotaExceededError') return new StoreError('storage_full', '', error);
  if (name === 'VersionError') return new StoreError('storage_blocked', '', error);
  return new StoreError('storage_failed', error?.message ? `(${error.message})` : '', error);
}
