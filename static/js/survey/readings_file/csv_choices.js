/**
 * What is known of a file of readings and what has to be asked. Twin of
 * webapp/survey/readings_file/csv_choices.py.
 */
import { fitColumns, LOOKED_AT } from './csv_fit.js';
import { countMarks, findDecimal, groupingOf, plainCell } from './csv_numbers.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('../../records/types.js').LengthUnit} LengthUnit */
/** @typedef {import('../../records/types.js').InclinationUnit | 'm_per_m'} SlopeUnit */
/** @typedef {'rising' | 'falling'} Plus */
/** @typedef {import('./csv_profile.js').CsvAnswers} CsvAnswers */
/** @typedef {import('./csv_columns.js').CsvColumn} CsvColumn */
/** @typedef {import('./csv_columns.js').CsvColumns} CsvColumns */
/** @typedef {import('./csv_fit.js').CsvFits} CsvFits */
/** @typedef {import('./csv_numbers.js').CsvMarks} CsvMarks */
/**
 * What is used for each choice; null where a person has to say it first.
 * @typedef {{counter_column: number | null, inclination_column: number | null, remark_column: number | null,
 *   counter_unit: LengthUnit | null, inclination_unit: SlopeUnit | null, plus: Plus | null, decimal: string |
 *   null, zero_m: number}} CsvUsed
 */
/**
 * @typedef {{counter_column?: number | null, inclination_column?: number | null, remark_column?: number |
 *   null, counter_unit?: LengthUnit | null, inclination_unit?: SlopeUnit | null, plus?: Plus | null,
 *   decimal?: string | null, zero_m?: number | null, remembered?: CsvAnswers | null}} CsvChoices
 */
/**
 * @typedef {{choices: CsvUsed, known: Object<string, string>, asks: string[], may_be: Object<string,
 *   number[]>, grouping: string}} CsvSettled
 */

const BARE = /^[+-]? *[0-9.,]+$/;
/**
 * @type {Array<['counter_column' | 'inclination_column' | 'remark_column', 'counter' | 'inclination' |
 *   'remark']>}
 */
const PARTS = [
  ['counter_column', 'counter'],
  ['inclination_column', 'inclination'],
  ['remark_column', 'remark']
];

/**
 * @param {CsvColumns} found
 * @param {string[][]} rows
 * @param {string} separator
 * @param {CsvChoices} choices
 * @returns {CsvSettled}
 */
export function settleChoices(found, rows, separator, choices) {
  const allOver = countMarks(rows.slice(0, LOOKED_AT).flat());
  const mark = choices.decimal || (findDecimal(allOver, allOver, separator) ?? '');
  const fit = fitColumns(found.columns, rows, mark);
  const { used, known: provenance } = columnsOf(found, fit, choices);
  units(found, fit, choices, used, provenance);
  const own = [used.counter_column, used.inclination_column].filter((index) => index !== null);
  const marks = countMarks(rows.flatMap((row) => own.map((index) => row[index] ?? '')));
  decimalMark(marks, findDecimal(marks, allOver, separator), choices, used, provenance);
  used.zero_m = choices.zero_m ?? 0;
  provenance.zero_m = (choices.zero_m ?? null) === null ? 'assumed' : 'chosen';
  return {
    choices: used,
    known: provenance,
    asks: asksOf(rows, used),
    may_be: { counter_column: fit.counter.may_be, inclination_column: fit.inclination.may_be },
    grouping: used.decimal ? groupingOf(used.decimal, marks, provenance.decimal !== 'file') : ''
  };
}

/**
 * The columns: as said, as said of an earlier file of the same kind, or as the file tells.
 * @param {CsvColumns} found
 * @param {CsvFits} fit
 * @param {CsvChoices} choices
 */
function columnsOf(found, fit, choices) {
  const before = choices.remembered ?? {};
  const used = /** @type {CsvUsed} */ ({});
  /** @type {Object<string, string>} */
  const provenance = {};
  for (const [name, kind] of PARTS) {
    const index = before[name] ?? null;
    const fits = kind === 'remark' ? null : fit[kind].fits;
    const chosen = choices[name] ?? null;
    const goes = index !== null && index < found.columns.length && (fits === null || fits[index]);
    const column = chosen ?? (goes ? index : fit[kind].column);
    provenance[name] = chosen !== null ? 'chosen' : goes ? 'remembered' : 'file';
    used[name] = name === 'remark_column' && column === -1 ? null : column;
    const at = used[name];
    if (at !== null && !(at >= 0 && at < Math.max(found.columns.length, 1)))
      throw new SurveyError('csv_column', name);
  }
  if (used.inclination_column !== null && used.inclination_column === used.counter_column) {
    used.inclination_column = null;
    provenance.inclination_column = 'file';
  }
  return { used, known: provenance };
}

/**
 * The units and what a plus means: those of the columns that are used.
 * @param {CsvColumns} found
 * @param {CsvFits} fit
 * @param {CsvChoices} choices
 * @param {CsvUsed} used
 * @param {Object<string, string>} provenance
 */
function units(found, fit, choices, used, provenance) {
  const before = choices.remembered ?? {};
  const counter = used.counter_column;
  const slope = used.inclination_column;
  const kind = slope === null ? null : found.columns[slope];
  const fromFile = {
    counter_unit: counter === null ? null : fit.counter.units[counter],
    inclination_unit: kind ? slopeUnit(kind) : null,
    plus: kind ? plusOf(kind, fit.inclination.negative[Number(slope)]) : null
  };
  for (const name of /** @type {Array<'counter_unit' | 'inclination_unit' | 'plus'>} */ ([
    'counter_unit',
    'inclination_unit',
    'plus'
  ])) {
    const [column, of] = PARTS[name === 'counter_unit' ? 0 : 1];
    const same = [before[column] ?? null, fit[of].column].includes(used[column]);
    const chosen = choices[name] ?? null;
    const goes = (before[name] ?? null) !== null && same;
    Object.assign(used, { [name]: chosen ?? (goes ? before[name] : fromFile[name]) });
    provenance[name] = chosen !== null ? 'chosen' : goes ? 'remembered' : 'file';
  }
  if (used.counter_unit === null) {
    const doubtful =
      counter !== null && (found.feet || fit.counter.large[counter] || several(found.columns[counter]));
    used.counter_unit = doubtful ? null : 'm';
    provenance.counter_unit = doubtful ? 'file' : 'assumed';
  }
}

/** @param {CsvColumn} kind @returns {boolean} */
function several(kind) {
  return kind.units.filter((one) => one.column === 'counter').length > 1;
}

/** @param {CsvColumn} kind @returns {string | null} */
function slopeUnit(kind) {
  const own = kind.units.filter((one) => one.column === 'inclination');
  return own.length === 1 ? own[0].unit : null;
}

/**
 * What the name says of a plus; a fall that is mostly below zero says nothing.
 * @param {CsvColumn} kind
 * @param {boolean} negative
 * @returns {string | null}
 */
function plusOf(kind, negative) {
  return kind.plus === 'falling' && negative ? null : kind.plus;
}

/**
 * @param {CsvMarks} marks
 * @param {string | null} byItself
 * @param {CsvChoices} choices
 * @param {CsvUsed} used
 * @param {Object<string, string>} provenance
 */
function decimalMark(marks, byItself, choices, used, provenance) {
  const before = choices.remembered?.decimal ?? null;
  const chosen = choices.decimal ?? null;
  const goes = before !== null && (before === '.' ? marks.comma : marks.point) === 0;
  used.decimal = chosen ?? (goes ? before : byItself);
  provenance.decimal = chosen !== null ? 'chosen' : goes ? 'remembered' : 'file';
}

/** @param {string[][]} rows @param {CsvUsed} used @returns {string[]} */
function asksOf(rows, used) {
  const open = (/** @type {keyof CsvUsed} */ name) => used[name] === null;
  const columns = /** @type {const} */ (['counter_column', 'inclination_column']).filter(open);
  if (columns.length > 0) return columns;
  const slope = Number(used.inclination_column);
  const slopes = rows.flatMap((row) => (slope < row.length ? [plainCell(row[slope])] : []));
  /** @type {string[]} */
  const asks = /** @type {const} */ (['decimal', 'counter_unit']).filter(open);
  if (used.inclination_unit === null && slopes.some((text) => BARE.test(text))) asks.push('inclination_unit');
  if (used.plus === null && slopes.some((text) => /[1-9]/.test(text))) asks.push('plus');
  return asks;
}
