/** The questions about a CSV file: which columns, which units, which way is plus. */
import { h } from '../ui/elements.js';
import { numberControl, radioControl, selectControl } from './fields_plain.js';
import { t } from '../text/en.js';

/** @typedef {import('../survey/readings_csv.js').CsvChoices} CsvChoices */

const COUNTER_UNITS = ['m', 'cm', 'mm', 'ft'];
const SLOPE_UNITS = ['deg', 'pct', 'permille', 'one_in'];

/**
 * @param {import('../survey/readings_csv.js').CsvResult} found what the file says by itself @param {() => void} changed
 * @returns {{element: HTMLElement, asked: (names: string[]) => void, read: () => CsvChoices}}
 */
export function readingsChoices(found, changed) {
  const columns = found.header.map((name, index) => ({ value: String(index), label: name.slice(0, 60) || t('csv.none') }));
  const units = (/** @type {string[]} */ list) => list.map((unit) => ({ value: unit, label: t(/** @type {any} */ (`csv.unit_${unit}`)) }));
  const senses = [{ value: 'rising', label: t('csv.rising') }, { value: 'falling', label: t('csv.falling') }];
  /** @type {Object<string, import('../ui/types.js').Control>} */
  const controls = {
    counter_column: selectControl(field('counter_column', columns), changed),
    counter_unit: selectControl(field('counter_unit', units(COUNTER_UNITS)), changed),
    inclination_column: selectControl(field('inclination_column', columns), changed),
    inclination_unit: selectControl(field('inclination_unit', units(SLOPE_UNITS)), changed),
    plus: radioControl({ ...field('plus', senses), required: true }, changed, 'answers', false),
    remark_column: selectControl(field('remark_column', columns), changed),
    zero_m: numberControl({ name: 'zero_m', label: t('csv.zero'), type: 'number', unit: 'm', minimum: -5000, maximum: 5000 }, changed),
  };
  const start = { ...found.choices };
  for (const [name, control] of Object.entries(controls)) control.setValue(asText(start[name]));
  return {
    element: h('div', { class: 'fields' }, ...Object.values(controls).map((control) => control.element)),
    asked(names) {
      for (const [name, control] of Object.entries(controls)) {
        control.element.classList.toggle('asked', names.includes(name));
        if (name !== 'zero_m') control.fault('');
      }
    },
    /** Only what differs from the file's own words is somebody's choice. */
    read() {
      /** @type {any} */
      const choices = {};
      for (const [name, control] of Object.entries(controls)) {
        const { value, error } = control.read();
        control.fault(error ?? '');
        if (asText(value) === asText(start[name])) continue;
        if (name.endsWith('_column')) choices[name] = value === null ? (name === 'remark_column' ? -1 : null) : Number(value);
        else choices[name] = value;
      }
      return choices;
    },
  };
}

/** @param {any} value @returns {string} */
function asText(value) {
  return value === null || value === undefined ? '' : String(value);
}

/** @param {string} name @param {Array<{value: string, label: string}>} choices @returns {import('../ui/types.js').Field} */
function field(name, choices) {
  return { name, label: t(/** @type {any} */ (`csv.${name}`)), type: 'choice', choices };
}
