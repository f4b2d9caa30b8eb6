/** A table in a text file of unknown making. Twin of webapp/survey/readings_file/csv_table.py. */
import { isLong, NUMERIC } from './csv_numbers.js';
import { SurveyError } from '../errors.js';

/** @typedef {{line: number, cells: string[], closed: boolean}} CsvRow */
/** @typedef {{separator: string, rows: CsvRow[], ended: boolean}} CsvTable */

const MAX_BYTES = 5_000_000;
const MAX_ROWS = 20_000;
const MAX_LINE = 20_000; // characters
const MAX_JOINED = 20; // lines that one quoted cell may run over
const LOOKED_AT = 5000; // lines that the separator is found from
const SEPARATORS = [';', '\t', ',', '|'];
/** @type {Array<[number[], string]>} */
const KINDS = [
  [[0x50, 0x4b, 0x03, 0x04], 'zip'],
  [[0x50, 0x4b, 0x05, 0x06], 'zip'],
  [[0xff, 0xd8, 0xff], 'picture'],
  [[0x89, 0x50, 0x4e, 0x47], 'picture'],
  [[0x25, 0x50, 0x44, 0x46], 'pdf'],
  [[0x1f, 0x8b], 'packed'],
  [[0xd0, 0xcf, 0x11, 0xe0], 'office'],
  [[0x23, 0x41, 0x31, 0x3d], 'exchange']
];
// What Windows 1252 puts where ISO-8859-1 has no letters, from 0x80 on; 0 where it has none either.
const WINDOWS = [
  0x20ac, 0, 0x201a, 0x192, 0x201e, 0x2026, 0x2020, 0x2021, 0x2c6, 0x2030, 0x160, 0x2039, 0x152, 0, 0x17d, 0,
  0, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x2dc, 0x2122, 0x161, 0x203a, 0x153, 0, 0x17e,
  0x178
];
const QUOTED = /"[^"]*"/g;
const SAID = /^"?sep=([;\t,|])"?[;\t,|]*$/i;
const UNPRINTABLE = /[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff]/g;
const EDGES = /^[ \t\u00a0\u2007\u2009\u202f]+|[ \t\u00a0\u2007\u2009\u202f]+$/g;
const EDGE = ' \t\u00a0\u2007\u2009\u202f';

/** @param {string} text @returns {string} */
function strip(text) {
  return text.replace(EDGES, '');
}

/** @param {Uint8Array | number[]} data the bytes of the file @returns {{text: string, charset: string}} */
export function decodeText(data) {
  if (data.length > MAX_BYTES) throw new SurveyError('csv_too_large', 'bytes');
  const raw = data instanceof Uint8Array ? data : Uint8Array.from(data);
  if (nothingIn(raw)) throw new SurveyError('csv_empty');
  for (const [start, kind] of KINDS) if (begins(raw, start)) throw new SurveyError('csv_kind', kind);
  const { text, charset } = decoded(raw);
  if (text.split(/\r\n|\r|\n/).every((line) => strip(line) === '')) throw new SurveyError('csv_empty');
  return { text: text.replace(UNPRINTABLE, '?'), charset };
}

/** @param {Uint8Array} raw @returns {boolean} */
function nothingIn(raw) {
  return raw.every((byte) => [0xef, 0xbb, 0xbf, 0x20, 0x09, 0x0d, 0x0a].includes(byte));
}

/** @param {Uint8Array} raw @param {number[]} start @returns {boolean} */
function begins(raw, start) {
  return start.every((byte, index) => raw[index] === byte);
}

/** @param {Uint8Array} raw @returns {{text: string, charset: string}} */
function decoded(raw) {
  for (const [mark, name] of /** @type {Array<[number[], string]>} */ ([
    [[0xff, 0xfe], 'utf-16le'],
    [[0xfe, 0xff], 'utf-16be']
  ])) {
    if (!begins(raw, mark)) continue;
    const text = strictly(raw.subarray(2), name);
    if (text === null || text.includes('\0')) throw new SurveyError('csv_kind', 'binary');
    return { text, charset: 'UTF-16' };
  }
  const unmarkedName = raw.includes(0) ? unmarked(raw) : '';
  if (unmarkedName) return { text: strictly(raw, unmarkedName) ?? '', charset: 'UTF-16' };
  if (raw.includes(0)) throw new SurveyError('csv_kind', 'binary');
  const plain = begins(raw, [0xef, 0xbb, 0xbf]) ? raw.subarray(3) : raw;
  const text = strictly(plain, 'utf-8');
  if (text !== null) return { text, charset: 'UTF-8' };
  return { text: latin(raw), charset: 'ISO-8859-1' };
}

/**
 * The byte order of UTF-16 without its mark: every other byte of plain letters is zero.
 * @param {Uint8Array} raw
 * @returns {string}
 */
function unmarked(raw) {
  if (raw.length % 2 !== 0) return '';
  const low = raw.filter((_, index) => index % 2 === 0);
  const high = raw.filter((_, index) => index % 2 === 1);
  for (const [name, zeros, letters] of /** @type {Array<[string, Uint8Array, Uint8Array]>} */ ([
    ['utf-16le', high, low],
    ['utf-16be', low, high]
  ])) {
    const zero = zeros.reduce((count, byte) => count + (byte === 0 ? 1 : 0), 0);
    if (letters.includes(0) || 10 * zero < 9 * zeros.length) continue;
    return zeros.some((byte) => byte >= 0xd8 && byte <= 0xdf) ? '' : name;
  }
  return '';
}

/**
 * @param {Uint8Array} raw
 * @param {string} name
 * @returns {string | null} null if it is not in this character set
 */
function strictly(raw, name) {
  try {
    return new TextDecoder(name, { fatal: true, ignoreBOM: true }).decode(raw);
  } catch {
    return null;
  }
}

/** @param {Uint8Array} raw @returns {string} */
function latin(raw) {
  const parts = [];
  for (const byte of raw) {
    parts.push(String.fromCharCode(byte >= 0x80 && byte < 0xa0 ? WINDOWS[byte - 0x80] || 0x3f : byte));
  }
  return parts.join('');
}

/** @param {string} text @param {string} separator empty to find it @returns {CsvTable} */
export function splitTable(text, separator) {
  const lines = text.split(/\r\n|\r|\n/);
  if (lines.some((line) => [...line].length > MAX_LINE)) throw new SurveyError('csv_kind', 'long');
  const declared = SAID.exec(lines[0]);
  const found = separator || (declared ? declared[1] : separatorOf(lines));
  /** @type {CsvRow[]} */
  const rows = [];
  let at = declared ? 1 : 0;
  while (at < lines.length) {
    const { cells, used } = cellsAt(lines, at, found);
    if (cells.some(Boolean)) {
      if (rows.length === MAX_ROWS) throw new SurveyError('csv_too_large', 'rows');
      rows.push({ line: at + 1, cells, closed: used > 0 });
    }
    at += Math.max(used, 1);
  }
  if (rows.length === 0) throw new SurveyError('csv_empty');
  return { separator: found, rows, ended: strip(lines[lines.length - 1]) === '' };
}

/**
 * The sign that most lines of numbers have equally often; where there are none, that most lines have.
 * @param {string[]} lines
 * @returns {string}
 */
function separatorOf(lines) {
  const lookedAt = lines
    .slice(0, LOOKED_AT)
    .filter((line) => strip(line) !== '')
    .map((line) => line.replace(QUOTED, '0'));
  let best = SEPARATORS[0];
  let most = [0, 0];
  for (const sign of SEPARATORS) {
    /** @type {Map<number, number>} */
    const alike = new Map();
    /** @type {Map<number, number>} */
    const numbers = new Map();
    for (const line of lookedAt) {
      const cells = line.split(sign);
      if (cells.length < 2) continue;
      alike.set(cells.length, (alike.get(cells.length) ?? 0) + 1);
      numbers.set(cells.length, (numbers.get(cells.length) ?? 0) + (areNumbers(cells) ? 1 : 0));
    }
    const points = [Math.max(0, ...numbers.values()), Math.max(0, ...alike.values())];
    if (points[0] > most[0] || (points[0] === most[0] && points[1] > most[1])) {
      best = sign;
      most = points;
    }
  }
  return best;
}

/** Whether the cells of a line are numbers, two at least. @param {string[]} cells @returns {boolean} */
function areNumbers(cells) {
  const filled = cells.map(strip).filter(Boolean);
  return filled.length > 1 && filled.every((cell) => !isLong(cell) && NUMERIC.test(cell));
}

/**
 * @param {string[]} lines
 * @param {number} at
 * @param {string} separator
 * @returns {{cells: string[], used: number}} used: 0 if it never closes
 */
function cellsAt(lines, at, separator) {
  let text = lines[at];
  if (!text.includes('"')) return { cells: text.split(separator).map(strip), used: 1 };
  for (let more = 0; more < MAX_JOINED; more += 1) {
    const cells = quoted(text, separator);
    if (cells) return { cells, used: more + 1 };
    if (at + more + 1 >= lines.length) break;
    text = `${text}\n${lines[at + more + 1]}`;
  }
  return { cells: lines[at].split(separator).map(strip), used: 0 };
}

/**
 * @param {string} text
 * @param {string} separator
 * @returns {string[] | null} null if a quotation mark is not closed
 */
function quoted(text, separator) {
  const cells = [];
  let at = 0;
  for (;;) {
    while (at < text.length && EDGE.includes(text[at]) && text[at] !== separator) at += 1;
    let cell = '';
    if (text[at] === '"') {
      const inner = inside(text, at + 1);
      if (!inner) return null;
      ({ cell, at } = inner);
    }
    const end = text.indexOf(separator, at);
    cells.push(strip(cell + (end < 0 ? text.slice(at) : text.slice(at, end))));
    if (end < 0) return cells;
    at = end + 1;
  }
}

/** @param {string} text @param {number} from @returns {{cell: string, at: number} | null} */
function inside(text, from) {
  const parts = [];
  let at = from;
  for (;;) {
    const end = text.indexOf('"', at);
    if (end < 0) return null;
    parts.push(text.slice(at, end));
    if (text[end + 1] !== '"') return { cell: parts.join(''), at: end + 1 };
    parts.push('"');
    at = end + 2;
  }
}
