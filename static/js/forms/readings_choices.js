/** The questions about a CSV file: which columns, which units, which way is plus. */
import { h } from '../ui/elements.js';
import { numberControl, radioControl, selectControl } from './fields/fields_plain.js';
import { t } from '../text/words.js';

/** @typedef {import('../survey/readings_file/readings_csv.js').CsvChoices} CsvChoices */
/** @typedef {import('../survey/readings_file/readings_csv.js').CsvResult} CsvResult */

/** @typedef {import('../records/types.js').InclinationUnit | 'm_per_m'} SlopeUnit */
/** @typedef {import('../records/types.js').LengthUnit} LengthUnit */

/** @type {LengthUnit[]} */
const COUNTER_UNITS = ['m', 'cm', 'mm', 'km', 'ft', 'in'];
/** @type {SlopeUnit[]} */
const SLOPE_UNITS = ['deg', 'pct', 'permille', 'one_in', 'm_per_m'];
/** What belongs to a column and goes with it. @type {Object<string, string[]>} */
const OF_COLUMN = { counter_column: ['counter_unit'], inclination_column: ['inclination_unit', 'plus'] };
const SAMPLES = 3;

/**
 * @param {string[]} header @param {string[][]} rows the first rows of data @param {() => void} changed
 * @returns {{element: HTMLElement, show: (result: CsvResult) => void, read: () => CsvChoices}}
 */
export function readingsChoices(header, rows, changed) {
  /** @type {Set<string>} what a person chose; all else follows the file */
  const chosen = new Set();
  const touched = (/** @type {string} */ name) => () => {
    chosen.add(name);
    for (const one of OF_COLUMN[name] ?? []) chosen.delete(one);
    changed();
  };
  const controls = controlsOf(header, rows, touched);
  return {
    element: h('div', { class: 'fields' }, ...Object.values(controls).map((control) => control.element)),
    show(result) {
      for (const [name, control] of Object.entries(controls)) {
        control.element.classList.toggle('asked', result.asks.includes(name));
        if (!chosen.has(name))
          control.setValue(asText(/** @type {Object<string, unknown>} */ (result.choices)[name]));
      }
    },
    read() {
      /** @type {Object<string, string | number | null>} */
      const choices = {};
      for (const name of chosen) {
        const { value, error } = controls[name].read();
        controls[name].fault(error ?? '');
        if (name === 'remark_column') choices[name] = value === null ? -1 : Number(value);
        else choices[name] = name.endsWith('_column') && value !== null ? Number(value) : value;
      }
      return choices;
    }
  };
}

/**
 * @param {string[]} header
 * @param {string[][]} rows
 * @param {(name: string) => () => void} touched
 * @returns {Object<string, import('../ui/types.js').Control<string | number, string>>}
 */
function controlsOf(header, rows, touched) {
  const columns = header.map((_, index) => ({
    value: String(index),
    label: columnLabel(header, rows, index)
  }));
  const units = (/** @type {Array<LengthUnit | SlopeUnit>} */ list) =>
    list.map((unit) => ({ value: unit, label: t(`csv.unit_${unit}`) }));
  const senses = [
    { value: 'rising', label: t('csv.rising') },
    { value: 'falling', label: t('csv.falling') }
  ];
  const marks = [
    { value: ',', label: t('csv.mark_comma') },
    { value: '.', label: t('csv.mark_point') }
  ];
  const select = (/** @type {string} */ name, /** @type {Array<{value: string, label: string}>} */ choices) =>
    selectControl({ name, label: csvField(name), type: 'choice', choices }, touched(name));
  return {
    counter_column: select('counter_column', columns),
    counter_unit: select('counter_unit', units(COUNTER_UNITS)),
    inclination_column: select('inclination_column', columns),
    inclination_unit: select('inclination_unit', units(SLOPE_UNITS)),
    plus: radioControl(
      { name: 'plus', label: csvField('plus'), type: 'choice', choices: senses, required: true },
      touched('plus'),
      'answers',
      false
    ),
    decimal: select('decimal', marks),
    remark_column: select('remark_column', columns),
    zero_m: numberControl(
      { name: 'zero_m', label: csvField('zero_m'), type: 'number', unit: 'm', minimum: -5000, maximum: 5000 },
      touched('zero_m')
    )
  };
}

/** @type {Object<string, import('../text/words.js').MessageKey>} */
const FIELDS = {
  counter_column: 'csv.counter_column',
  counter_unit: 'csv.counter_unit',
  inclination_column: 'csv.inclination_column',
  inclination_unit: 'csv.inclination_unit',
  remark_column: 'csv.remark_column',
  plus: 'csv.plus',
  decimal: 'csv.decimal',
  zero_m: 'csv.zero'
};

/** What a choice is called. @param {string} name @returns {string} */
export function csvField(name) {
  return Object.hasOwn(FIELDS, name) ? t(FIELDS[name]) : name;
}

/**
 * A column by its name and its first cells, for the name alone may mislead.
 * @param {string[]} header
 * @param {string[][]} rows
 * @param {number} index
 * @returns {string}
 */
export function columnLabel(header, rows, index) {
  const name = header[index].slice(0, 60) || t('csv.column_number', { n: index + 1 });
  const cells = rows
    .slice(0, SAMPLES)
    .map((row) => (row[index] ?? '').slice(0, 12))
    .filter(Boolean);
  return cells.length > 0 ? t('csv.column_with', { name, cells: cells.join('  ') }) : name;
}

/** @param {unknown} value @returns {string} */
function asText(value) {
  return value === null || value === undefined ? '' : String(value);
}
