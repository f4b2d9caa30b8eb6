/** Whether photos wait for a link that costs nothing. Many browsers do not tell: then only a person knows. */

/** @typedef {'metered' | 'free' | 'unknown'} LinkKind */
/** @typedef {{saveData?: boolean, type?: string}} Connection   as some browsers tell it */

/** @returns {LinkKind} */
export function linkKind() {
  const { connection } = /** @type {{connection?: Connection}} */ (globalThis.navigator ?? {});
  if (!connection) return 'unknown';
  if (connection.saveData === true || connection.type === 'cellular') return 'metered';
  return ['wifi', 'ethernet'].includes(connection.type ?? '') ? 'free' : 'unknown';
}

/**
 * @param {string | undefined} setting `wait`: not on a metered link @param {LinkKind} link
 * @param {import('./engine.js').Trigger} by a press of the key is a person's word @returns {boolean}
 */
export function photosWait(setting, link, by) {
  return setting === 'wait' && link !== 'free' && by !== 'button';
}
