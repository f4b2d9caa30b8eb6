/** Version vectors: for each writer, up to which number its entries are held without a gap. */

/** @typedef {Object<string, number>} Vector */

/** A plain object finds some names in itself that nobody put there. @param {Vector} have @param {string} writer @returns {number} */
export function heldOf(have, writer) {
  return Object.hasOwn(have, writer) ? have[writer] : 0;
}

/** @param {Vector} a @param {Vector} b @returns {boolean} */
export function sameVector(a, b) {
  const writers = Object.keys(a);
  return writers.length === Object.keys(b).length && writers.every((writer) => a[writer] === b[writer]);
}

/**
 * The lines that a digest is made of; writers are ASCII, so text order is byte order.
 * @param {Vector} have
 * @returns {string}
 */
export function vectorLines(have) {
  return Object.entries(have)
    .map(([writer, number]) => `${writer}:${number}`)
    .sort()
    .join('\n');
}

/** @param {Vector} have @returns {Promise<string | undefined>} undefined where the browser has no SHA-256 */
export function vectorDigest(have) {
  return textDigest(vectorLines(have));
}

/** @param {string} text @returns {Promise<string | undefined>} its first 32 hexadecimal digits */
export async function textDigest(text) {
  if (!globalThis.crypto?.subtle) return undefined;
  const hash = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
  return Array.from(new Uint8Array(hash).slice(0, 16), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/**
 * The writers of which two vectors say another number, with that of the first: 0 for none.
 * @param {Vector} have @param {Vector} other @returns {Vector}
 */
export function differences(have, other) {
  const writers = new Set([...Object.keys(have), ...Object.keys(other)]);
  const unlike = [...writers].filter((writer) => heldOf(have, writer) !== heldOf(other, writer));
  return Object.fromEntries(unlike.map((writer) => [writer, heldOf(have, writer)]));
}

/** @param {Vector} other @param {Vector} differing from it @returns {Vector} the first of differences */
export function withDifferences(other, differing) {
  const found = Object.entries({ ...other, ...differing });
  return Object.fromEntries(found.filter(([, number]) => number > 0));
}
