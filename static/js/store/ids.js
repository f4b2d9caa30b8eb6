/** Names that are made on the phone: record ids, writers, devices, and stamps of time for people. */

const DIGITS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_';

/** @param {number} count @returns {string} that many random characters of base64url */
export function randomName(count) {
  return Array.from(crypto.getRandomValues(new Uint8Array(count)), (byte) => DIGITS[byte & 63]).join('');
}

/**
 * Makes UUIDv7 ids that always grow, whatever the phone's clock does: when it stands still or jumps
 * back, the next id follows the last one. Records are shown in the order of their ids.
 * @param {() => Date} now @returns {() => string}
 */
export function makeIds(now) {
  let lastMs = 0;
  let sequence = 0;
  return () => {
    const ms = Math.max(0, now().getTime());
    const [high, low] = crypto.getRandomValues(new Uint32Array(2));
    if (ms > lastMs) {
      lastMs = ms;
      sequence = high & 0x3ff; // leaves room to count up within one millisecond
    } else {
      sequence += 1;
      if (sequence > 0xfff) {
        lastMs += 1;
        sequence = 0;
      }
    }
    const tail = crypto.getRandomValues(new Uint16Array(1))[0];
    const time = lastMs.toString(16).padStart(12, '0');
    const rest = low.toString(16).padStart(8, '0') + tail.toString(16).padStart(4, '0');
    const variant = (0x8000 | ((high >>> 16) & 0x3fff)).toString(16);
    return `${time.slice(0, 8)}-${time.slice(8)}-7${sequence.toString(16).padStart(3, '0')}-${variant}-${rest}`;
  };
}

/** @param {Date} date @returns {string} local time with its offset, such as 2026-11-25T10:31:07.120+00:00 */
export function isoStamp(date) {
  const offsetMin = -Math.round(date.getTimezoneOffset());
  const local = new Date(date.getTime() + offsetMin * 60000).toISOString().slice(0, -1);
  const size = Math.abs(offsetMin);
  const hours = String(Math.floor(size / 60)).padStart(2, '0');
  const minutes = String(size % 60).padStart(2, '0');
  return `${local}${offsetMin < 0 ? '-' : '+'}${hours}:${minutes}`;
}
