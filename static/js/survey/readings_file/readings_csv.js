/**
 * Readings of another instrument, from the rows of a table. Twin of
 * webapp/survey/readings_file/readings_csv.py.
 */
import { parseCounter } from '../instruments/counter.js';
import { settleChoices } from './csv_choices.js';
import { findColumns } from './csv_columns.js';
import { LENGTHS } from './csv_fit.js';
import { plainCell, plainNumber } from './csv_numbers.js';
import { SurveyError } from '../errors.js';
import { parseInclination } from '../instruments/gradient.js';

/** @typedef {import('./csv_table.js').CsvRow} CsvRow */
/** @typedef {import('./csv_columns.js').CsvWords} CsvWords */
/** @typedef {import('./csv_choices.js').CsvChoices} CsvChoices */
/** @typedef {import('./csv_choices.js').CsvUsed} CsvUsed */
/** @typedef {import('../../records/types.js').Inclination} Inclination */
/** @typedef {import('../../records/types.js').LengthUnit} LengthUnit */
/** @typedef {import('./csv_choices.js').SlopeUnit} SlopeUnit */
/** @typedef {import('./csv_columns.js').CsvValues} CsvValues */
/** @typedef {{line: number, code: string, values: CsvValues}} CsvLine */
/**
 * What is used once nothing has to be asked any more.
 * @typedef {CsvUsed & {counter_column: number, inclination_column: number, counter_unit: LengthUnit, decimal:
 *   string, grouping: string}} CsvReady
 */
/**
 * @typedef {{line: number, counter_m: number, inclination: Inclination, remark: string | null,
 *   counter_typed?: string, counter_unit?: LengthUnit, counter_added_m?: number}} CsvReading
 *   the last three of a counter that was converted: what the file has
 */
/**
 * @typedef {{header: string[], header_line: number, choices: CsvUsed, known: Object<string, string>, asks:
 *   string[], may_be: Object<string, number[]>, taken: CsvReading[], left: CsvLine[], notes: CsvLine[],
 *   unused: string[]}} CsvResult
 */

const MAX_M = 5000;
/** @type {Object<string, number>} */
const LARGEST = { deg: 90, pct: 1e6, permille: 1e7, one_in: 1e6 };
const MAX_REMARK = 400;
const MAX_TYPED = 40;
const SHOWN = 60; // characters of a cell in a sentence
/** @type {Object<string, number>} */
const METRES = { m: 1, cm: 0.01, mm: 0.001, km: 1000, ft: 0.3048, in: 0.0254 };
const HALF = /^(?:[+-]0+|[+-]?0[0-9]+)$/;
const TAIL = /(?<=[0-9.,]) ?(mm|cm|km|m|ft|in|'|")$/;
const OVER =
  /^([+-]?) ?(?:[<>]|over ?range|over|beyond range|beyond) ?([+-]?) ?(?:[0-9.,]+ ?[^0-9\n]{0,8})?$/u;
/** @typedef {import('../../records/types.js').InclinationSense} InclinationSense */
/** @type {Record<InclinationSense, InclinationSense>} */
const SLANTED = { rising: 'falling', falling: 'rising', level: 'level' };
const BARE = /^[+-]? *[0-9.,]+$/;
/** @type {Object<string, string>} */
const CODES = {
  inclination_unreadable: 'csv_inclination',
  inclination_beyond_vertical: 'csv_beyond_vertical',
  gradient_one_in_zero: 'csv_one_in_zero',
  number_unreadable: 'csv_counter',
  counter_below_zero: 'csv_counter_negative'
};

class Refused extends Error {
  /** @param {string} code @param {string} [text] */
  constructor(code, text = '') {
    super(code);
    this.code = code;
    /** @type {CsvValues} */
    this.values = text ? { text: first(text, SHOWN) } : {};
  }
}

/** @param {string} text @param {number} count of whole characters @returns {string} */
function first(text, count) {
  return text.length <= count ? text : [...text].slice(0, count).join('');
}

/**
 * @param {{rows: CsvRow[], ended: boolean, separator?: string}} table
 * @param {CsvWords} words
 * @param {CsvChoices} choices
 * @returns {CsvResult}
 */
export function readReadings(table, words, choices) {
  const { rows } = table;
  const found = findColumns(rows, words);
  const data = rows.slice(found.first);
  if (data.length === 0) throw new SurveyError('csv_no_rows');
  const settled = settleChoices(
    found,
    data.map((row) => row.cells),
    table.separator ?? '',
    choices
  );
  const used = settled.choices;
  checkCommas(table, data, used.inclination_column);
  /** @type {CsvResult} */
  const result = {
    header: found.header,
    header_line: found.header_line,
    choices: used,
    known: settled.known,
    asks: settled.asks,
    may_be: settled.may_be,
    taken: [],
    left: [],
    notes: [],
    unused: unusedOf(found.header, used)
  };
  if (result.asks.length > 0) return result;
  for (const { line } of rows.slice(0, found.first)) {
    if (line < found.header_line) result.left.push({ line, code: 'csv_before_header', values: {} });
  }
  const width = found.header_line ? found.header.length : 0;
  const ready = /** @type {CsvReady} */ ({ ...used, grouping: settled.grouping });
  for (const row of data) take(row, ready, width, result);
  if (!table.ended)
    result.notes.push({ line: data[data.length - 1].line, code: 'csv_last_line', values: {} });
  return result;
}

/**
 * A minus zero, or 05, is the half of a number that a comma cut in two.
 * @param {{separator?: string}} table
 * @param {CsvRow[]} data
 * @param {number | null} column
 */
function checkCommas(table, data, column) {
  if (table.separator === ',' && data.some((row) => HALF.test(cellOf(row.cells, column))))
    throw new SurveyError('csv_kind', 'commas');
}

/** @param {string[]} cells @param {number | null} index @returns {string} */
function cellOf(cells, index) {
  return index === null ? '' : (cells[index] ?? '');
}

/** @param {string[]} header @param {CsvUsed} used @returns {string[]} */
function unusedOf(header, used) {
  const taken = [used.counter_column, used.inclination_column, used.remark_column];
  return header.map((name, index) => (taken.includes(index) ? '' : first(name, SHOWN))).filter(Boolean);
}

/** @param {CsvRow} row @param {CsvReady} used @param {number} width @param {CsvResult} result */
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

/** @param {number} line @param {string[]} cells @param {CsvReady} used @param {CsvResult} result */
function takeSound(line, cells, used, result) {
  const counter_m = counterOf(cellOf(cells, used.counter_column), used);
  const inclination = inclinationOf(cellOf(cells, used.inclination_column), used);
  let remark = cellOf(cells, used.remark_column) || null;
  const have = [...(remark ?? '')].length;
  if (remark && have > MAX_REMARK) {
    result.notes.push({ line, code: 'csv_remark_cut', values: { have } });
    remark = first(remark, MAX_REMARK);
  }
  result.taken.push({
    line,
    counter_m,
    inclination,
    remark,
    ...rawOf(cellOf(cells, used.counter_column), used)
  });
}

/**
 * The counter as the file has it, where ours is not the same number.
 * @param {string} cell
 * @param {CsvReady} used
 */
function rawOf(cell, used) {
  if (used.counter_unit === 'm' && !used.zero_m) return {};
  return {
    counter_typed: first(cell, MAX_TYPED),
    counter_unit: used.counter_unit,
    ...(used.zero_m && { counter_added_m: used.zero_m })
  };
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
    throw new Refused(CODES[error.code] ?? error.code, cell);
  }
}

/** @param {string} cell @param {CsvReady} used @returns {string} */
function numberOf(cell, used) {
  return orRefused(cell, () => plainNumber(cell, used.decimal, used.grouping));
}

/** @param {string} cell @param {CsvReady} used @returns {number} */
function counterOf(cell, used) {
  if (!cell) throw new Refused('csv_no_counter');
  let text = numberOf(cell, used);
  const unit = used.counter_unit;
  const own = TAIL.exec(text);
  if (own) {
    if ((LENGTHS[own[1]] ?? own[1]) !== unit) throw new Refused('csv_counter_unit', cell);
    text = text.slice(0, own.index);
  }
  const value = orRefused(cell, () => parseCounter(text));
  const counterM = unit === 'm' && !used.zero_m ? value : rounded(value * METRES[unit] + used.zero_m);
  if (!(counterM <= MAX_M)) throw new Refused('csv_counter_far', cell);
  if (counterM < 0) throw new Refused('csv_counter_negative', cell);
  return counterM;
}

/**
 * To a nanometre: what a conversion leaves behind the digits that were shown goes.
 * @param {number} value
 * @returns {number}
 */
function rounded(value) {
  return value < 2 * MAX_M ? Math.floor(value * 1e9 + 0.5) / 1e9 : value;
}

/** @param {string} cell @param {CsvReady} used @returns {Inclination} */
function inclinationOf(cell, used) {
  if (!cell) throw new Refused('csv_no_inclination');
  const beyond = OVER.exec(plainCell(cell));
  if (beyond) return beyondOf(cell, beyond[1] || beyond[2], cell.includes('>'), used);
  const text = numberOf(cell, used);
  const unit = used.inclination_unit ?? 'deg';
  const value = /** @type {Inclination & {size: number, unit: SlopeUnit}} */ (
    orRefused(cell, () => parseInclination(text, unit === 'm_per_m' ? 'pct' : unit))
  );
  if (unit === 'm_per_m' && BARE.test(text)) value.size = rounded(value.size * 100);
  if (value.size > LARGEST[value.unit]) throw new Refused('csv_inclination', cell);
  value.typed = first(cell, MAX_TYPED);
  const sense = value.sense ?? 'rising'; // no sign is a plus
  value.sense = used.plus === 'falling' ? SLANTED[sense] : sense;
  return value;
}

/**
 * @param {string} cell @param {string} sign @param {boolean} more @param {CsvReady} used
 * @returns {Inclination}
 */
function beyondOf(cell, sign, more, used) {
  if (!sign && !more) throw new Refused('csv_over_no_sense', cell);
  const sense = sign === '-' ? 'falling' : 'rising';
  return {
    over_range: true,
    sense: used.plus === 'falling' ? SLANTED[sense] : sense,
    typed: first(cell, MAX_TYPED)
  };
}
