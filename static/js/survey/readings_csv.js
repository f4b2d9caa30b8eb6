/** Readings of another instrument, from the rows of a table. Twin of webapp/survey/readings_csv.py. */
import { parseCounter } from './counter.js';
import { findColumns } from './csv_columns.js';
import { SurveyError } from './errors.js';
import { parseInclination } from './gradient.js';

/** @typedef {import('./csv_table.js').CsvRow} CsvRow */
/** @typedef {import('./csv_columns.js').CsvWords} CsvWords */
/**
 * @typedef {{counter_column?: number | null, inclination_column?: number | null, remark_column?: number | null,
 *   counter_unit?: string | null, inclination_unit?: string | null, plus?: string | null, decimal?: string | null,
 *   zero_m?: number | null}} CsvChoices
 */
/** @typedef {{line: number, code: string, values: Object<string, any>}} CsvLine */
/** @typedef {{line: number, counter_m: number, inclination: any, remark: string | null}} CsvReading */
/**
 * @typedef {{header: string[], header_line: number, choices: any, known: Object<string, string>, asks: string[], taken: CsvReading[],
 *   left: CsvLine[], notes: CsvLine[], unused: string[]}} CsvResult
 */

const MOST_M = 5000;
/** @type {Object<string, number>} */
const LARGEST = { deg: 90, pct: 1e6, permille: 1e7, one_in: 1e6 };
const MOST_REMARK = 400;
const MOST_TYPED = 40;
const SHOWN = 60; // characters of a cell in a sentence
const SPACES = /[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]/g;
const OVER = /^([+-]?) ?(?:[<>]|over ?range|over|beyond range|beyond) ?([+-]?) ?(?:[0-9.,]+ ?[^0-9\n]{0,8})?$/u;
/** @type {Object<string, string>} */
const SLANTED = { rising: 'falling', falling: 'rising', level: 'level' };
const BARE = /^[+-]? *[0-9.,]+$/;
const COMMA = /[0-9],[0-9]/;
const POINT = /[0-9]\.[0-9]/;
/** @type {Object<string, number>} */
const PARTS = { m: 1, cm: 100, mm: 1000 };
/** @type {Object<string, string>} */
const CODES = {
  inclination_unreadable: 'csv_inclination', inclination_beyond_vertical: 'csv_beyond_vertical',
  gradient_one_in_zero: 'csv_one_in_zero', number_unreadable: 'csv_counter', counter_below_zero: 'csv_counter_negative',
};

class Refused extends Error {
  /** @param {string} code @param {string} [text] */
  constructor(code, text = '') {
    super(code);
    this.code = code;
    /** @type {Object<string, any>} */
    this.values = text ? { text: first(text, SHOWN) } : {};
  }
}

/** @param {string} text @param {number} count of whole characters @returns {string} */
function first(text, count) {
  return text.length <= count ? text : [...text].slice(0, count).join('');
}

/** @param {{rows: CsvRow[], ended: boolean}} table @param {CsvWords} words @param {CsvChoices} choices @returns {CsvResult} */
export function readReadings(table, words, choices) {
  const { rows } = table;
  const found = findColumns(rows, words);
  const data = rows.slice(found.first);
  if (data.length === 0) throw new SurveyError('csv_no_rows');
  const { used, known } = settled(found, choices);
  checkColumns(used, found.header.length);
  const cells = data.map((row) => row.cells);
  if (used.decimal === null) {
    used.decimal = decimalOf(cells, used);
    known.decimal = 'file';
  }
  /** @type {CsvResult} */
  const result = {
    header: found.header, header_line: found.header_line, choices: used, known, asks: asksOf(cells, used),
    taken: [], left: [], notes: [], unused: unusedOf(found.header, used),
  };
  if (result.asks.length > 0) return result;
  for (const { line } of rows.slice(0, found.first)) {
    if (line < found.header_line) result.left.push({ line, code: 'csv_before_header', values: {} });
  }
  const width = found.header_line ? found.header.length : 0;
  for (const row of data) take(row, used, width, result);
  if (!table.ended) result.notes.push({ line: data[data.length - 1].line, code: 'csv_last_line', values: {} });
  return result;
}

/** @param {any} found @param {any} choices @returns {{used: any, known: Object<string, string>}} */
function settled(found, choices) {
  /** @type {any} */
  const used = {};
  /** @type {Object<string, string>} */
  const known = {};
  for (const name of ['counter_column', 'inclination_column', 'remark_column', 'counter_unit', 'inclination_unit', 'plus']) {
    const chosen = choices[name] ?? null;
    used[name] = chosen === null ? found[name] : chosen;
    known[name] = chosen === null ? 'file' : 'chosen';
  }
  if (used.counter_unit === null) {
    used.counter_unit = 'm';
    known.counter_unit = 'assumed';
  }
  if (used.remark_column === -1) used.remark_column = null;
  used.decimal = choices.decimal ?? null;
  known.decimal = 'chosen';
  used.zero_m = choices.zero_m ?? 0;
  known.zero_m = (choices.zero_m ?? null) === null ? 'assumed' : 'chosen';
  return { used, known };
}

/** @param {any} used @param {number} width */
function checkColumns(used, width) {
  for (const name of ['counter_column', 'inclination_column', 'remark_column']) {
    const index = used[name];
    if (index !== null && !(index >= 0 && index < Math.max(width, 1))) throw new SurveyError('csv_column', name);
  }
}

/** @param {string[]} cells @param {number | null} index @returns {string} */
function cellOf(cells, index) {
  return index === null ? '' : (cells[index] ?? '');
}

/** @param {string[][]} rows @param {any} used @returns {string} */
function decimalOf(rows, used) {
  const texts = rows.flatMap((cells) => [cellOf(cells, used.counter_column), cellOf(cells, used.inclination_column)]);
  const commas = texts.filter((text) => COMMA.test(text)).length;
  return commas > texts.filter((text) => POINT.test(text)).length ? ',' : '.';
}

/** @param {string[][]} rows @param {any} used @returns {string[]} */
function asksOf(rows, used) {
  const asks = ['counter_column', 'inclination_column'].filter((name) => used[name] === null);
  if (asks.length > 0) return asks;
  const slopes = rows.map((cells) => plain(cellOf(cells, used.inclination_column)));
  if (used.inclination_unit === null && slopes.some((text) => BARE.test(text))) asks.push('inclination_unit');
  if (used.plus === null && slopes.some((text) => /[1-9]/.test(text))) asks.push('plus');
  return asks;
}

/** @param {string[]} header @param {any} used @returns {string[]} */
function unusedOf(header, used) {
  const taken = [used.counter_column, used.inclination_column, used.remark_column];
  return header.map((name, index) => (taken.includes(index) ? '' : first(name, SHOWN))).filter(Boolean);
}

/** @param {string} cell @returns {string} */
function plain(cell) {
  return cell.replace(SPACES, ' ').toLowerCase().replaceAll('−', '-');
}

/** @param {CsvRow} row @param {any} used @param {number} width @param {CsvResult} result */
function take({ line, cells, closed }, used, width, result) {
  const need = Math.max(used.counter_column, used.inclination_column) + 1;
  if (!closed) {
    result.left.push({ line, code: 'csv_quote', values: {} });
  } else if (cells.length < need) {
    result.left.push({ line, code: 'csv_short', values: { have: cells.length, need } });
  } else if (width > 0 && cells.slice(width).some(Boolean)) {
    result.left.push({ line, code: 'csv_wide', values: { have: cells.length, need: width } });
  } else {
    try {
      takeSound(line, cells, used, result);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      result.left.push({ line, code: error.code, values: error.values });
    }
  }
}

/** @param {number} line @param {string[]} cells @param {any} used @param {CsvResult} result */
function takeSound(line, cells, used, result) {
  const counter_m = counterOf(cellOf(cells, used.counter_column), used);
  const inclination = inclinationOf(cellOf(cells, used.inclination_column), used);
  let remark = cellOf(cells, used.remark_column) || null;
  const have = [...(remark ?? '')].length;
  if (remark && have > MOST_REMARK) {
    result.notes.push({ line, code: 'csv_remark_cut', values: { have } });
    remark = first(remark, MOST_REMARK);
  }
  result.taken.push({ line, counter_m, inclination, remark });
}

/** @param {string} cell @param {any} used */
function checkDecimal(cell, used) {
  if ((used.decimal === ',' ? POINT : COMMA).test(cell)) throw new Refused('csv_decimal', cell);
}

/**
 * What another part of the survey refuses is a line that is not taken.
 * @template T @param {string} cell @param {() => T} read @returns {T}
 */
function orRefused(cell, read) {
  try {
    return read();
  } catch (error) {
    if (!(error instanceof SurveyError)) throw error;
    throw new Refused(CODES[error.code], cell);
  }
}

/** @param {string} cell @param {any} used @returns {number} */
function counterOf(cell, used) {
  if (!cell) throw new Refused('csv_no_counter');
  checkDecimal(cell, used);
  const value = orRefused(cell, () => parseCounter(plain(cell)));
  const unit = used.counter_unit;
  if (unit !== 'm' && cell.toLowerCase().endsWith('m')) throw new Refused('csv_counter_unit', cell);
  const metres = unit === 'ft' ? value * 0.3048 : value / PARTS[unit];
  const counterM = metres + used.zero_m;
  if (!(counterM <= MOST_M)) throw new Refused('csv_counter_far', cell);
  if (counterM < 0) throw new Refused('csv_counter_negative', cell);
  return counterM;
}

/** @param {string} cell @param {any} used @returns {any} */
function inclinationOf(cell, used) {
  if (!cell) throw new Refused('csv_no_inclination');
  const beyond = OVER.exec(plain(cell));
  if (beyond) return beyondOf(cell, beyond[1] || beyond[2], cell.includes('>'), used);
  checkDecimal(cell, used);
  /** @type {any} */
  const value = orRefused(cell, () => parseInclination(plain(cell), used.inclination_unit ?? 'deg'));
  if (value.size > LARGEST[value.unit]) throw new Refused('csv_inclination', cell);
  value.typed = first(cell, MOST_TYPED);
  const sense = value.sense ?? 'rising'; // no sign is a plus
  value.sense = used.plus === 'falling' ? SLANTED[sense] : sense;
  return value;
}

/** @param {string} cell @param {string} sign @param {boolean} more @param {any} used @returns {any} */
function beyondOf(cell, sign, more, used) {
  if (!sign && !more) throw new Refused('csv_over_no_sense', cell);
  const sense = sign === '-' ? 'falling' : 'rising';
  return { over_range: true, sense: used.plus === 'falling' ? SLANTED[sense] : sense, typed: first(cell, MOST_TYPED) };
}
