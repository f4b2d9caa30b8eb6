/** What can go wrong between "save" and "saved". Every failure of the store is one of these. */

/**
 * @typedef {'storage_full' | 'storage_blocked' | 'storage_no_answer' | 'storage_failed' |
 *   'storage_insecure' | 'entry_too_large' | 'too_many_photos' | 'job_put_away' | 'job_coming_back' |
 *   'storage_lost'} StoreErrorCode
 */

export class StoreError extends Error {
  /**
   * What it says to a person stands in the catalogue, under fault.
   * @param {StoreErrorCode} code
   * @param {string} [detail] of the browser
   * @param {unknown} [cause]
   */
  constructor(code, detail = '', cause = undefined) {
    super(`${code} ${detail}`.trim(), { cause });
    this.name = 'StoreError';
    /** @type {StoreErrorCode} */
    this.code = code;
  }
}

/** @param {unknown} error @returns {StoreError} */
export function asStoreError(error) {
  if (error instanceof StoreError) return error;
  const { name = '', message = '' } = /** @type {Partial<Error>} */ (error ?? {});
  if (name === 'QuotaExceededError') return new StoreError('storage_full', '', error);
  if (name === 'VersionError') return new StoreError('storage_blocked', '', error);
  return new StoreError('storage_failed', message ? `(${message})` : '', error);
}
