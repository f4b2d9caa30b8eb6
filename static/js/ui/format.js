/** Numbers and times as people read them. Rounding is for the eye only; nothing here is stored. */
import { lengthText } from '../survey/wording/wording.js';

/**
 * A counter reading or level as recorded; "not known" for what is no number.
 * @param {number} value
 * @param {number} [places]
 * @returns {string}
 */
export function metres(value, places = 2) {
  return lengthText(Number.isFinite(value) ? value : null, places);
}

/** @param {number} bytes @returns {string} */
export function bytesText(bytes) {
  if (bytes < 1000) return `${bytes} bytes`;
  if (bytes < 1e6) return `${Math.round(bytes / 1000)} kB`;
  if (bytes < 1e9) return `${(bytes / 1e6).toFixed(1)} MB`;
  return `${(bytes / 1e9).toFixed(1)} GB`;
}

/**
 * "120 of 240 kB", both in the unit of the whole; "240 kB" where all is there.
 * @param {number} done
 * @param {number} whole
 * @returns {string}
 */
export function bytesOf(done, whole) {
  const [by, places, unit] = whole < 1e6 ? [1e3, 0, 'kB'] : whole < 1e9 ? [1e6, 1, 'MB'] : [1e9, 1, 'GB'];
  const size = (/** @type {number} */ bytes) => (bytes / by).toFixed(places);
  return done >= whole ? `${size(whole)} ${unit}` : `${size(done)} of ${size(whole)} ${unit}`;
}

/**
 * A number in the way of Python's %g, so that both sides say a range alike.
 * @param {number} value
 * @returns {string}
 */
export function general(value) {
  if (value === 0) return '0';
  const exponent = Math.floor(Math.log10(Math.abs(value)));
  if (exponent >= -4 && exponent < 6) return String(Number(value.toPrecision(6)));
  const [digits, power] = value.toExponential(5).split('e');
  const sign = power.startsWith('-') ? '-' : '+';
  return `${Number(digits)}e${sign}${power.replace(/[+-]/, '').padStart(2, '0')}`;
}

/** @param {string} stamp @returns {string} */
export function when(stamp) {
  const date = new Date(stamp);
  if (Number.isNaN(date.getTime())) return stamp;
  return date.toLocaleString('en-GB', {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit'
  });
}

/** @param {string} stamp @returns {string} */
export function clockTime(stamp) {
  const date = new Date(stamp);
  return Number.isNaN(date.getTime())
    ? stamp
    : date.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
}

/**
 * "1 reading", "3 readings".
 * @param {number} count
 * @param {string} one
 * @param {string} [many]
 * @returns {string}
 */
export function counted(count, one, many = `${one}s`) {
  return `${count.toLocaleString('en-GB')} ${count === 1 ? one : many}`;
}

/**
 * Reads a number typed with a point or a comma; null when it is none.
 * @param {string} text
 * @returns {number | null}
 */
export function parseNumber(text) {
  const plain = text.trim().replace(/\s/g, '').replace(',', '.').replace('−', '-');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}
