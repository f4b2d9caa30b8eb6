/**
 * What tells lists of wanted photos apart: it follows a change, and their order does not matter. Twin of
 * webapp/records/wants.py.
 */

const BEGINS = /^[0-9a-f]{16}/;

/** @param {string} half @param {string} other @returns {string} exclusive or of 32 bits each */
function either(half, other) {
  return ((Number.parseInt(half, 16) ^ Number.parseInt(other, 16)) >>> 0).toString(16).padStart(8, '0');
}

/**
 * The digest of a list with some photos more, or less: its own inverse.
 * @param {string} digest 16 hexadecimal digits @param {Iterable<string>} hashes @returns {string}
 */
export function digestWith(digest, hashes) {
  let [high, low] = [digest.slice(0, 8), digest.slice(8, 16)];
  for (const sha256 of hashes) {
    if (!BEGINS.test(sha256)) continue;
    high = either(high, sha256.slice(0, 8));
    low = either(low, sha256.slice(8, 16));
  }
  return high + low;
}
