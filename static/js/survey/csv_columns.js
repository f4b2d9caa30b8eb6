/** The columns of a table of readings. Twin of webapp/survey/csv_columns.py. */
import { SurveyError } from './errors.js';

/** @typedef {import('./csv_table.js').CsvRow} CsvRow */
/**
 * @typedef {{columns: Array<{column: string, words: string[]}>, units: Array<{column: string, unit: string, words: string[]}>,
 *   plus: Array<{plus: string, words: string[]}>, rows: Array<{code: string, sentence: string, kind?: string}>,
 *   faults: Array<{code: string, sentence: string, kind?: string}>}} CsvWords
 */
/**
 * @typedef {{header: string[], header_line: number, first: number, counter_column: number | null, inclination_column: number | null,
 *   remark_column: number | null, counter_unit: string | null, inclination_unit: string | null, plus: string | null}} CsvColumns
 */

const HEADER_WITHIN = 50; // rows
const SHOWN = 60; // characters of a cell that are looked at
const WORD = /mm\/m|1 ?in|1:n|1\/n|[a-zà-öø-ÿ]+|[%‰°]/g;

/** @param {CsvRow[]} rows @param {CsvWords} words @returns {CsvColumns} */
export function findColumns(rows, words) {
  const index = rows.slice(0, HEADER_WITHIN).findIndex((row) => {
    const named = row.cells.map((cell) => columnOf(cell, words));
    return named.includes('counter') && (named.includes('inclination') || named.length === 1);
  });
  if (index < 0) return headless(rows);
  const { cells, line } = rows[index];
  let first = index + 1;
  let below = first < rows.length ? rows[first].cells : [];
  if (rows.length > first + 1 && !below.some((cell) => /[0-9]/.test(cell))) first += 1; // a line of units
  else below = [];
  const told = cells.map((cell, k) => (k < below.length ? `${cell} ${below[k]}` : cell));
  const counter = firstOf(cells, 'counter', words);
  const inclination = firstOf(cells, 'inclination', words);
  const slope = inclination === null ? '' : told[inclination];
  const place = counter === null ? '' : told[counter];
  return {
    header: cells, header_line: line, first, counter_column: counter, inclination_column: inclination,
    remark_column: firstOf(cells, 'remark', words),
    counter_unit: toldBy(place, words.units.filter((row) => row.column === 'counter'), 'unit'),
    inclination_unit: toldBy(slope, words.units.filter((row) => row.column === 'inclination'), 'unit'),
    plus: toldBy(slope, words.plus, 'plus'),
  };
}

/** @param {CsvRow[]} rows @returns {CsvColumns} */
function headless(rows) {
  const width = Math.max(0, ...rows.slice(0, HEADER_WITHIN).map((row) => row.cells.length));
  return {
    header: Array.from({ length: width }, (_, k) => `Column ${k + 1}`), header_line: 0, first: 0, counter_column: null,
    inclination_column: null, remark_column: null, counter_unit: null, inclination_unit: null, plus: null,
  };
}

/** @param {string} text @returns {string[]} */
function wordsOf(text) {
  return (text.toLowerCase().match(WORD) ?? []).map((word) => word.replaceAll(' ', ''));
}

/** @param {string} cell @param {CsvWords} words @returns {string} */
function columnOf(cell, words) {
  if ([...cell].length > SHOWN) return '';
  const own = wordsOf(cell);
  return words.columns.find((row) => own.some((word) => row.words.includes(word)))?.column ?? '';
}

/** @param {string[]} cells @param {string} name @param {CsvWords} words @returns {number | null} */
function firstOf(cells, name, words) {
  const index = cells.findIndex((cell) => columnOf(cell, words) === name);
  return index < 0 ? null : index;
}

/** @param {string} text @param {Array<any>} table @param {string} part @returns {string | null} */
function toldBy(text, table, part) {
  const own = wordsOf([...text].slice(0, 2 * SHOWN).join(''));
  return table.find((row) => own.some((word) => row.words.includes(word)))?.[part] ?? null;
}

/** @param {CsvWords} words @param {string} code @param {Object<string, any>} values @returns {string} */
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
