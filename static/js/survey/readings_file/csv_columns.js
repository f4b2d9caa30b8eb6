/** The columns of a table of readings. Twin of webapp/survey/readings_file/csv_columns.py. */
import { isLong, MAX_CHARACTERS as SHOWN, NUMERIC } from './csv_numbers.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('./csv_table.js').CsvRow} CsvRow */
/** @typedef {Object<string, string | number>} CsvValues   what a sentence is filled with */
/** @typedef {{column: string, strength?: string, words: string[]}} CsvWordRow */
/** @typedef {{column: string, unit: string}} CsvUnit */
/** @typedef {{code: string, sentence: string, kind?: string}} CsvSentence */
/**
 * @typedef {{fold?: Object<string, string>, columns?: CsvWordRow[], parts?: Array<CsvWordRow & {where:
 *   string}>, units?: Array<CsvUnit & {words: string[]}>, inside?: Array<CsvUnit & {words: string[]}>, plus?:
 *   Array<{plus: string, words: string[]}>, rows: CsvSentence[], faults: CsvSentence[]}} CsvWords
 */
/** @typedef {{strong: string[], weak: string[], units: CsvUnit[], plus: string | null}} CsvColumn */
/**
 * @typedef {{header: string[], header_line: number, first: number, columns: CsvColumn[], feet: boolean}}
 *   CsvColumns
 */
/** @typedef {[string, string]} Kind column and strength */
/**
 * @typedef {{fold: Map<string, string>, columns: Map<string, Kind[]>, units: Map<string, CsvUnit>, inside:
 *   Map<string, CsvUnit>, plus: Map<string, string>, ends: Array<[string, string, string]>, begins:
 *   Array<[string, string, string]>}} CsvIndex
 */

const HEADER_WITHIN = 200; // rows
const FOLLOWING = 6; // rows below a header that are looked at
const WORD = new RegExp(
  [
    String.raw`° ?[cf](?![a-z])|(?<![a-z])(?:mm|cm|m|km|in|ft|l)/(?:min|mm|m|s|h|ft|in)(?![a-z])`,
    String.raw`(?<![0-9a-z])1 ?(?:in(?![a-z])|[:/](?= ?[nx](?![a-z])| *$| *[\])]))(?: ?[nx](?![a-z]))?`,
    String.raw`[a-z]+[23](?![0-9a-z])|[a-z]+|[%‰°#]`
  ].join('|'),
  'g'
);
const INSIDE = /[[(<{]([^\])>}]*)[\])>}]|(?:[/_,] ?|(?<![^ ])(?<!1 )in )([a-z%‰°"']{1,4})$/g;
const BARE = /^[+-]? ?[0-9.,:/ -]*[0-9.,:/ -]$/;
const CAMEL = /([a-zà-öø-ÿ])([A-ZÀ-ÖØ-Þ])/g;
const NOTHING = ['', '-', '–'];
const EDGE = /^[ .[\](){}<>]+|[ .[\](){}<>]+$/g;

/** @param {CsvRow[]} rows @param {CsvWords} words @returns {CsvColumns} */
export function findColumns(rows, words) {
  const index = indexOf(words);
  const found = headerAt(rows, index);
  if (found === null) {
    const width = Math.max(0, ...rows.slice(0, HEADER_WITHIN).map((row) => row.cells.length));
    const names = Array.from({ length: width }, (_, k) => `Column ${k + 1}`);
    return {
      header: names,
      header_line: 0,
      first: 0,
      columns: names.map(() => describedBy('', '', index)),
      feet: false
    };
  }
  const { cells, line } = rows[found];
  let first = found + 1;
  /** @type {string[]} */
  let below = [];
  if (first + 1 < rows.length && isUnits(rows[first].cells, index)) {
    below = rows[first].cells;
    first += 1;
  }
  const columns = cells.map((cell, k) => describedBy(cell, below[k] ?? '', index));
  const above = rows.slice(0, found).flatMap((row) => row.cells.map((cell) => describedBy(cell, '', index)));
  const feet = [...above, ...columns].some((one) =>
    one.units.some(({ unit }) => ['ft', 'in'].includes(unit))
  );
  return { header: cells, header_line: line, first, columns, feet };
}

/** The table turned round: from a word to what it stands for. @param {CsvWords} words @returns {CsvIndex} */
function indexOf(words) {
  /** @type {CsvIndex} */
  const found = {
    fold: new Map(),
    columns: new Map(),
    units: new Map(),
    inside: new Map(),
    plus: new Map(),
    ends: [],
    begins: []
  };
  for (const [plain, letters] of Object.entries(words.fold ?? {}))
    for (const letter of letters) found.fold.set(letter, plain);
  for (const row of words.columns ?? []) {
    for (const word of row.words)
      found.columns.set(word, [...(found.columns.get(word) ?? []), [row.column, row.strength ?? 'strong']]);
  }
  for (const row of words.parts ?? []) {
    for (const word of row.words)
      found[row.where === 'ends' ? 'ends' : 'begins'].push([word, row.column, row.strength ?? 'strong']);
  }
  for (const name of /** @type {Array<'units' | 'inside'>} */ (['units', 'inside'])) {
    for (const { column, unit, words: own } of words[name] ?? []) {
      for (const word of own) if (!found[name].has(word)) found[name].set(word, { column, unit });
    }
  }
  for (const row of words.plus ?? [])
    for (const word of row.words) if (!found.plus.has(word)) found.plus.set(word, row.plus);
  return found;
}

/** @param {string} text @param {number} count of whole characters @returns {string} */
function first(text, count) {
  return text.length <= count ? text : [...text].slice(0, count).join('');
}

/**
 * Small letters without their marks; words that only a capital parts are parted.
 * @param {string} text
 * @param {CsvIndex} index
 * @returns {string}
 */
function folded(text, index) {
  const small = first(text, 2 * SHOWN)
    .replace(CAMEL, '$1 $2')
    .toLowerCase();
  return [...small].map((sign) => index.fold.get(sign) ?? sign).join('');
}

/** @param {string} text @returns {string[]} */
function tokensOf(text) {
  return (text.match(WORD) ?? []).map((word) => word.replaceAll(' ', ''));
}

/**
 * What a word stands for; a compound is known by its ends.
 * @param {string} token
 * @param {CsvIndex} index
 * @returns {Kind[]}
 */
function kindsOf(token, index) {
  const whole = index.columns.get(token);
  if (whole) return whole;
  /** @type {Kind[]} */
  const found = index.begins
    .filter(([part]) => token.startsWith(part))
    .map(([, column, strength]) => [column, strength]);
  const end = index.ends.find(([part]) => token.endsWith(part));
  return end ? [...found, [end[1], end[2]]] : found;
}

/**
 * @param {string} text
 * @param {CsvIndex} index
 * @param {boolean} alone
 * @returns {CsvUnit[]} single letters and inches count only where a unit is expected
 */
function unitsOf(text, index, alone) {
  /** @type {CsvUnit[]} */
  const found = [];
  const add = (/** @type {CsvUnit | undefined} */ unit) => {
    if (unit && !found.some((one) => sameUnit(one, unit))) found.push(unit);
  };
  for (const token of tokensOf(text)) add(index.units.get(token));
  for (const [, inside, tail] of alone ? [['', text, '']] : text.matchAll(INSIDE)) {
    const word = (inside || tail || '').replace(EDGE, '');
    if (!index.units.has(word)) add(index.inside.get(word));
  }
  return found;
}

/** @param {CsvUnit} a @param {CsvUnit} b @returns {boolean} */
function sameUnit(a, b) {
  return a.column === b.column && a.unit === b.unit;
}

/** @param {string} cell @param {string} below @param {CsvIndex} index @returns {CsvColumn} */
function describedBy(cell, below, index) {
  const text = isLong(cell) ? '' : folded(cell, index);
  const tokens = tokensOf(text);
  const kinds = tokens.flatMap((token) => kindsOf(token, index));
  const units = unitsOf(text, index, index.inside.has(text.replace(EDGE, '')));
  for (const unit of unitsOf(folded(below, index), index, true))
    if (!units.some((one) => sameUnit(one, unit))) units.push(unit);
  const of = (/** @type {string} */ wanted) =>
    [...new Set(kinds.filter(([, strength]) => strength === wanted).map(([column]) => column))].sort();
  const plus = tokens.find((token) => index.plus.has(token));
  return {
    strong: of('strong'),
    weak: of('weak'),
    units: units.map(({ column, unit }) => ({ column, unit })),
    plus: plus === undefined ? null : (index.plus.get(plus) ?? null)
  };
}

/**
 * Whether a row below the names holds units and nothing else.
 * @param {string[]} cells
 * @param {CsvIndex} index
 * @returns {boolean}
 */
function isUnits(cells, index) {
  let some = false;
  for (const cell of cells) {
    const text = folded(cell, index).replace(EDGE, '');
    if (NOTHING.includes(text)) continue;
    if (isLong(cell) || BARE.test(text)) return false;
    const tokens = tokensOf(text);
    if (!index.inside.has(text) && (tokens.length === 0 || !tokens.every((token) => index.units.has(token))))
      return false;
    some ||= unitsOf(text, index, true).some(({ column }) => column !== 'other');
  }
  return some;
}

/** @param {CsvRow[]} rows @param {CsvIndex} index @returns {number | null} */
function headerAt(rows, index) {
  let best = null;
  let most = 0;
  for (const [at, row] of rows.slice(0, HEADER_WITHIN).entries()) {
    const points = headerPoints(rows, at, row.cells, index);
    if (points > most) {
      best = at;
      most = points;
    }
  }
  return best;
}

/**
 * How much a row looks like one of names.
 * @param {CsvRow[]} rows
 * @param {number} at
 * @param {string[]} cells
 * @param {CsvIndex} index
 * @returns {number}
 */
function headerPoints(rows, at, cells, index) {
  const named = cells.filter((cell) => !NOTHING.includes(cell));
  if (named.some((cell) => BARE.test(first(cell, SHOWN)))) return 0;
  const columns = named.map((cell) => {
    const { strong, weak, units } = describedBy(cell, '', index);
    return new Set([...strong, ...weak, ...units.map(({ column }) => column)]);
  });
  const known = columns.filter((one) => one.size > 0).length;
  const both = columns.some((one) => one.has('counter')) && columns.some((one) => one.has('inclination'));
  let from = at + 1;
  if (from < rows.length && isUnits(rows[from].cells, index)) from += 1;
  const follow = rows
    .slice(from, from + FOLLOWING)
    .filter((row) => ofNumbers(row.cells, cells.length)).length;
  if (both) return 20 + known + follow;
  if (named.length < 2 && !(cells.length === 1 && known > 0)) return 0;
  return follow > 1 || (known > 0 && follow > 0) ? known + follow : 0;
}

/**
 * Whether a row stands under a header of so many cells and holds numbers.
 * @param {string[]} cells
 * @param {number} width
 * @returns {boolean}
 */
function ofNumbers(cells, width) {
  const filled = cells.filter(Boolean);
  const numbers = filled.filter((cell) => !isLong(cell) && NUMERIC.test(cell)).length;
  return !cells.slice(width).some(Boolean) && numbers >= Math.min(width, 2) && 2 * numbers >= filled.length;
}

/** @param {CsvWords} words @param {string} code @param {CsvValues} values @returns {string} */
export function csvSentence(words, code, values) {
  for (const row of [...words.rows, ...words.faults]) {
    if (row.code !== code || !['', values.kind ?? ''].includes(row.kind ?? '')) continue;
    let text = row.sentence;
    for (const [name, value] of Object.entries(values)) {
      text = text.replaceAll(`{${name}}`, () => (name === 'text' ? `“${value}”` : String(value)));
    }
    return text;
  }
  throw new SurveyError('finding_unknown', 'code');
}
