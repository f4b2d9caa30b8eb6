/**
 * Which column of a table is the distance and which the inclination. Twin of
 * webapp/survey/readings_file/csv_fit.py.
 */
import { isLong, OTHER, plainCell, plainNumber } from './csv_numbers.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('./csv_columns.js').CsvColumn} CsvColumn */
/**
 * @typedef {{column: number | null, may_be: number[], units: Array<string | null>, fits: boolean[], large:
 *   boolean[], negative: boolean[]}} CsvFit
 */
/**
 * @typedef {{counter: CsvFit, inclination: CsvFit, remark: {column: number | null, may_be: number[]}}}
 *   CsvFits
 */
/**
 * @typedef {{filled: number, lengths: number[], lengthUnits: string[], slopes: number[], slopeUnits:
 *   string[], over: number}} Seen
 */
/** @typedef {{grows: boolean, still: boolean, counts: boolean}} Shape */
/**
 * @typedef {Shape & {points: number, unit: string | null, other: boolean, strong: boolean, large: boolean,
 *   negative: boolean}} Score
 */

export const LOOKED_AT = 2000; // rows
/** @type {Object<string, number>} */
const MAX_COUNTER = { m: 5000, cm: 500_000, mm: 5_000_000, km: 5, ft: 16_404, in: 196_850 };
const SURE = 4;
const POSSIBLE = 1;
const OUT = -100;
const STRONG = 5;
const WEAK = 3;
const UNIT = 2;
const GROWS = 1;
const OTHER_KIND = -5;
const STANDS_STILL = -4;
const COUNTS = -2;
const NEVER_MOVED = 5; // rows of one and the same value, from which on it is odd
const FAR_M = 200; // beyond these, numbers without a unit may be no metres
const WIDE_M = 10;
const LENGTH = /^\+?([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?(mm|cm|km|m|ft|in|'|")?$/;
const SLOPE = /^([+-]?) ?(?:1 ?(?:in|:|\/) ?)?([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?(%|‰|mm\/m|°|deg|pct|[a-z]*)$/;
const ONE_IN = /^[+-]? ?1 ?(?:in|:|\/) ?[0-9.]+$/;
const OVER = /^[+-]? ?(?:[<>]|over|beyond)[^\n]*$/;
/** @type {Object<string, string>} */
const CELL_UNITS = {
  '%': 'pct',
  pct: 'pct',
  percent: 'pct',
  '‰': 'permille',
  'mm/m': 'permille',
  '°': 'deg',
  deg: 'deg'
};
/** @type {Object<string, string>} */
export const LENGTHS = { "'": 'ft', '"': 'in' };

/** @param {CsvColumn[]} columns @param {string[][]} rows @param {string} decimal @returns {CsvFits} */
export function fitColumns(columns, rows, decimal) {
  const shown = rows.slice(0, LOOKED_AT);
  const seen = columns.map((_, k) => seenIn(shown.map((row) => row[k] ?? '').filter(Boolean), decimal));
  const lengths = columns.map((kind, k) => lengthOf(seen[k], kind));
  const slopes = columns.map((kind, k) => slopeOf(seen[k], kind));
  const notes = [...columns.keys()].filter(
    (k) => [...columns[k].strong, ...columns[k].weak].join() === 'remark'
  );
  return {
    counter: decided(lengths, lengthRivals),
    inclination: decided(slopes, slopeRivals),
    remark: { column: notes[0] ?? null, may_be: notes }
  };
}

/**
 * A cell with a point for its decimal mark; of a mark that is not known yet any will do.
 * @param {string} cell
 * @param {string} decimal
 * @returns {string}
 */
function plain(cell, decimal) {
  if (!decimal) return plainCell(cell).replaceAll(',', '.');
  try {
    return plainNumber(cell, decimal, OTHER[decimal]).replaceAll(',', '.');
  } catch (error) {
    if (!(error instanceof SurveyError)) throw error;
    return '';
  }
}

/**
 * What stands in the cells of a column, read as lengths and as slopes.
 * @param {string[]} cells
 * @param {string} decimal
 * @returns {Seen}
 */
function seenIn(cells, decimal) {
  /** @type {Seen} */
  const seen = { filled: cells.length, lengths: [], lengthUnits: [], slopes: [], slopeUnits: [], over: 0 };
  for (const cell of cells) {
    if (isLong(cell)) continue;
    const text = plain(cell, decimal);
    const length = LENGTH.exec(text);
    if (length) seen.lengths.push(Number(length[1]));
    if (length?.[2]) seen.lengthUnits.push(LENGTHS[length[2]] ?? length[2]);
    const slope = SLOPE.exec(text);
    if (slope) seen.slopes.push(slope[1] === '-' ? -Number(slope[2]) : Number(slope[2]));
    if (slope && Object.hasOwn(CELL_UNITS, slope[3])) seen.slopeUnits.push(CELL_UNITS[slope[3]]);
    if (ONE_IN.test(text)) seen.slopeUnits.push('one_in');
    if (OVER.test(text)) seen.over += 1;
  }
  return seen;
}

/**
 * How a row of numbers goes on: one way, not at all, or counting the rows; a line may be odd.
 * @param {number[]} values
 * @returns {Shape}
 */
function shapeOf(values) {
  const steps = stepsOf(values);
  const up = steps.filter((step) => step > 0).length;
  const down = steps.filter((step) => step < 0).length;
  const most = Math.max(up, down);
  const odd = Math.min(up, down);
  const grows = most > 0 && (10 * odd <= most || (odd === 1 && most > 2));
  const whole = 10 * values.filter(Number.isInteger).length >= 8 * values.length;
  return { grows, still: values.length > 1 && most === 0, counts: whole && grows };
}

/** @param {number[]} values @returns {number[]} */
function stepsOf(values) {
  return values.slice(1).map((after, index) => after - values[index]);
}

/**
 * The one unit that a column has by its name, else in most of its cells.
 * @param {CsvColumn} kind
 * @param {string} column
 * @param {string[]} inCells
 * @param {number} filled
 */
function unitOf(kind, column, inCells, filled) {
  const named = kind.units.filter((one) => one.column === column);
  if (named.length > 0) return named.length === 1 ? named[0].unit : null;
  return (
    [...new Set(inCells)].sort().find((unit) => 2 * inCells.filter((one) => one === unit).length > filled) ??
    null
  );
}

/**
 * Whether the name has a unit, and none of this sort.
 * @param {CsvColumn} kind
 * @param {string} column
 * @returns {boolean}
 */
function hasOtherUnit(kind, column) {
  return kind.units.length > 0 && kind.units.every((one) => one.column !== column);
}

/**
 * Points for the words of a name.
 * @param {CsvColumn} kind
 * @param {string} column
 * @param {string | null} unit
 * @param {string} rival
 * @returns {[number, boolean]}
 */
function namePoints(kind, column, unit, rival) {
  const counted = (/** @type {string[]} */ names) => names.filter((one) => one !== rival || !unit);
  const strong = counted(kind.strong);
  const weak = counted(kind.weak);
  const other = [...strong, ...weak].some((one) => one !== column);
  const points = strong.includes(column) ? STRONG : weak.includes(column) ? WEAK : 0;
  return [points + (other ? OTHER_KIND : 0), other];
}

/** @param {Seen} seen @param {CsvColumn} kind @returns {Score} */
function lengthOf(seen, kind) {
  const { lengths: values, lengthUnits: inCells, filled } = seen;
  const unit = unitOf(kind, 'counter', inCells, filled);
  const [forName, other] = namePoints(kind, 'counter', unit, 'inclination');
  const reach = values.filter((value) => value <= MAX_COUNTER[unit ?? 'mm']).length;
  const out = hasOtherUnit(kind, 'counter') || 2 * values.length <= filled || 2 * reach <= values.length;
  const shape = shapeOf(values);
  let points = forName + (unit ? UNIT : 0) + (shape.grows ? GROWS : 0) + (shape.still ? STANDS_STILL : 0);
  if (shape.counts && !unit && !kind.strong.includes('counter')) points += COUNTS;
  return {
    points: out ? OUT : points,
    unit,
    other,
    large: isLarge(values, inCells),
    negative: false,
    ...shape,
    strong: kind.strong.includes('counter')
  };
}

/**
 * Whether numbers without a unit are larger, or go on in larger whole steps, than metres in a pipe do.
 * @param {number[]} values
 * @param {string[]} units
 */
function isLarge(values, units) {
  const steps = stepsOf(values).map(Math.abs);
  const far = values.length > 0 && middle(values) > FAR_M;
  const wide = steps.length > 0 && values.every(Number.isInteger) && middle(steps) >= WIDE_M;
  return far || wide || units.some((unit) => unit !== 'm');
}

/** @param {number[]} values @returns {number} */
function middle(values) {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
}

/** @param {Seen} seen @param {CsvColumn} kind @returns {Score} */
function slopeOf(seen, kind) {
  const { slopes: values, filled } = seen;
  const unit = unitOf(kind, 'inclination', seen.slopeUnits, filled);
  const [forName, other] = namePoints(kind, 'inclination', unit, 'counter');
  const known = values.length + seen.over;
  const steep = unit === 'deg' && 2 * values.filter((value) => Math.abs(value) > 90).length > values.length;
  const out = hasOtherUnit(kind, 'inclination') || 2 * known <= filled || steep;
  const shape = shapeOf(values);
  let points = forName + (unit ? UNIT : 0);
  if (shape.still && values.length >= NEVER_MOVED) points = Math.min(points - 1, SURE - 1);
  if (shape.counts && !unit && values.length > 2) points += COUNTS;
  const below = values.filter((value) => value < 0).length;
  const negative = 2 * below > values.filter((value) => value !== 0).length;
  return {
    points: out ? OUT : points,
    unit,
    other,
    large: false,
    negative,
    ...shape,
    strong: kind.strong.includes('inclination')
  };
}

/**
 * The one column that is sure and has no rival; else none.
 * @param {Score[]} scores
 * @param {(best: Score, one: Score) => boolean} rivals
 * @returns {CsvFit}
 */
function decided(scores, rivals) {
  const all = [...scores.keys()];
  const sure = all.filter((k) => scores[k].points >= SURE);
  const ahead = all.filter((k) => scores[k].points > OUT).sort((a, b) => scores[b].points - scores[a].points);
  const alone = sure.length === 1 && !ahead.some((k) => k !== sure[0] && rivals(scores[sure[0]], scores[k]));
  return {
    column: alone ? sure[0] : null,
    may_be: ahead.filter((k) => scores[k].points >= POSSIBLE),
    units: scores.map(({ unit }) => unit),
    fits: scores.map(({ points }) => points > OUT),
    large: scores.map(({ large }) => large),
    negative: scores.map(({ negative }) => negative)
  };
}

/**
 * Whether another column could be the distance: it grows and has a unit, or the best is in doubt itself.
 * @param {Score} best
 * @param {Score} one
 * @returns {boolean}
 */
function lengthRivals(best, one) {
  if (one.other || one.still) return false;
  if (!best.grows) return true;
  return one.grows && (one.unit !== null || !best.strong);
}

/**
 * Whether another column could be the inclination: it has a unit of slopes and moves.
 * @param {Score} _best
 * @param {Score} one
 * @returns {boolean}
 */
function slopeRivals(_best, one) {
  return one.unit !== null && !one.other && !one.still;
}
