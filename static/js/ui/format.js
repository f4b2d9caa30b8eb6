/** Numbers and times as people read them. Rounding is for the eye only; nothing here is stored. */
import { lengthText } from '../text/survey_words.js';
import { locale, t, words } from '../text/words.js';
import * as joins from '../survey/wording/messages.js';

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
  if (bytes < 1000) return t('size.bytes', { n: bytes });
  const { key, size } = bytesUnit(bytes);
  return t(key, { size: size(bytes) });
}

/**
 * The unit in which so many bytes are said.
 * @param {number} bytes
 * @returns {{key: import('../text/words.js').MessageKey, key_of: import('../text/words.js').MessageKey,
 *   size: (some: number) => string}}
 */
function bytesUnit(bytes) {
  if (bytes < 1e6) return { key: 'size.kb', key_of: 'size.kb_of', size: (some) => fixed(some / 1e3, 0) };
  if (bytes < 1e9) return { key: 'size.mb', key_of: 'size.mb_of', size: (some) => fixed(some / 1e6, 1) };
  return { key: 'size.gb', key_of: 'size.gb_of', size: (some) => fixed(some / 1e9, 1) };
}

/**
 * "120 of 240 kB", both in the unit of the whole; "240 kB" where all is there.
 * @param {number} done
 * @param {number} whole
 * @returns {string}
 */
export function bytesOf(done, whole) {
  const { key, key_of: keyOf, size } = bytesUnit(whole);
  return done >= whole ? t(key, { size: size(whole) }) : t(keyOf, { done: size(done), size: size(whole) });
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
  return date.toLocaleString(locale(), {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit'
  });
}

/** A date without a time. @param {string} iso @returns {string} */
export function day(iso) {
  const date = new Date(`${iso}T00:00`);
  if (Number.isNaN(date.getTime())) return iso;
  return date.toLocaleDateString(locale(), { day: 'numeric', month: 'short', year: 'numeric' });
}

/** @param {string} stamp @returns {string} */
export function clockTime(stamp) {
  const date = new Date(stamp);
  return Number.isNaN(date.getTime())
    ? stamp
    : date.toLocaleTimeString(locale(), { hour: '2-digit', minute: '2-digit' });
}

/**
 * A number with so many decimals and the decimal mark of the language; for the eye only.
 * @param {number} value
 * @param {number} places
 * @returns {string}
 */
export function fixed(value, places) {
  return joins.numberText(words, value.toFixed(places));
}

/** @type {Object<string, Intl.ListFormat>} by their locale and type */
const LISTS = {};

/** Things one after the other, "MH1, MH2, MH3", or as a choice, "MH1 or MH2".
 * @param {Array<string | false | null | undefined>} some empty ones are left out
 * @param {'unit' | 'disjunction'} [type]
 * @returns {string}
 */
export function listed(some, type = 'unit') {
  const name = `${locale()} ${type}`;
  LISTS[name] ??= new Intl.ListFormat(locale(), { type, style: type === 'unit' ? 'short' : 'long' });
  return LISTS[name].format(/** @type {string[]} */ (some.filter(Boolean)));
}

/** The same of nodes. @param {Node[]} nodes @returns {Array<Node | string>} */
export function listedNodes(nodes) {
  const list = new Intl.ListFormat(locale(), { type: 'unit', style: 'short' });
  let next = 0;
  return list
    .formatToParts(nodes.map((_, place) => String(place)))
    .map((part) => (part.type === 'element' ? nodes[next++] : part.value));
}

/**
 * Phrases that may hold commas themselves.
 * @param {Array<string | false | null | undefined>} some empty ones are left out
 * @returns {string}
 */
export function phrases(some) {
  return joins.clauses(words, /** @type {string[]} */ (some.filter(Boolean)));
}

/**
 * Facts that stand on their own, in one line.
 * @param {Array<string | false | null | undefined>} some empty ones are left out
 * @returns {string}
 */
export function apart(some) {
  return joins.apart(words, /** @type {string[]} */ (some));
}

/**
 * Whole sentences, one after the other.
 * @param {Array<string | false | null | undefined>} some empty ones are left out
 * @returns {string}
 */
export function sentences(some) {
  return joins.sentences(words, /** @type {string[]} */ (some));
}

/** A sentence some of whose values are nodes. @param {import('../text/words.js').MessageKey} key
 * @param {Object<string, Node | string>} nodes */
export function filled(key, nodes) {
  const marks = Object.fromEntries(Object.keys(nodes).map((name) => [name, `\0${name}\0`]));
  return t(key, marks)
    .split('\0')
    .map((one, place) => (place % 2 ? nodes[one] : one));
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

const MAX_REMEMBERED = 2000;
/** @type {RegExp[] | undefined} */
let kept;
/** @type {Map<string, string>} texts as they were last put: a log shows the same ones at every drawing */
const unbroken = new Map();

/** A number is never parted from its unit: `value.unbroken` shows what stays on a line, 0 for any figure.
 * @param {string} text */
export function keepUnits(text) {
  kept ??= t('value.unbroken')
    .split('|')
    .map((one) => RegExp(one.replace('0', '\\d') + (one.endsWith('0') ? '' : '(?![\\w/])'), 'g'));
  let found = unbroken.get(text);
  if (found === undefined) {
    found = kept.reduce((all, one) => all.replace(one, (part) => part.replaceAll(' ', '\u00a0')), text);
    if (unbroken.size >= MAX_REMEMBERED) unbroken.clear();
    unbroken.set(text, found);
  }
  return found;
}
