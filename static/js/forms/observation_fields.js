/** The fields that one code takes, and no others: driven by the table. */
import { h } from '../ui/elements.js';
import { clockDial } from '../ui/clock_dial.js';
import { clockHelper } from './clock_helper.js';
import { numberControl, radioControl, selectControl, flagControl } from './fields_plain.js';
import { t } from '../text/en.js';

const MANY = 8;

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').Control} Control */

/** @param {any} row a row of the code table @param {(name: string) => Field} fieldOf @param {() => void} changed @param {import('./clock_helper.js').Ask} offAxis @returns {Map<string, Control>} */
export function codeFields(row, fieldOf, changed, offAxis) {
  /** @type {Map<string, Control>} */
  const controls = new Map();
  for (const n of [1, 2]) {
    const name = `characterisation_${n}`;
    const choices = row[name].map((/** @type {any} */ one) => ({ ...one, letter: one.value }));
    if (choices.length === 0) continue;
    const field = { ...fieldOf(name), label: t(n === 1 ? 'obs.kind' : 'obs.kind_2'), choices };
    controls.set(name, choices.length > MANY ? selectControl({ ...field, choices: choices.map(withLetter) }, changed) : radioControl(field, changed));
  }
  for (const n of [1, 2]) {
    const name = `quantification_${n}`;
    const asked = row[name];
    if (!asked?.label) continue;
    controls.set(name, numberControl({ ...fieldOf(name), label: asked.label, unit: asked.unit, help: asked.note || undefined }, changed));
  }
  if (row.clock_references > 0) controls.set('clock', clockControl(row.clock_references, changed, offAxis));
  if (row.joint === 'optional') controls.set('at_joint', flagControl({ ...fieldOf('at_joint') }, changed));
  return controls;
}

/** @param {{value: string, label: string}} one */
function withLetter(one) {
  return { value: one.value, label: `${one.value}  ${one.label}` };
}

/** @param {number} references @param {() => void} changed @param {import('./clock_helper.js').Ask} offAxis @returns {Control} */
function clockControl(references, changed, offAxis) {
  const fault = h('p', { class: 'field-fault', hidden: true });
  const dial = clockDial(references, () => { fault.hidden = true; helper.chosen(); changed(); });
  const helper = clockHelper(dial, offAxis, changed);
  return {
    name: 'clock', element: h('div', null, dial.element, helper.element, fault), focus: dial.focus,
    raw: () => ({ ...dial.raw(), seen: helper.seen() }), read: dial.read, refresh: helper.show,
    setRaw(raw) { dial.set(raw); helper.stood(raw?.seen); },
    setValue(value) { dial.set(value); helper.stood(); },
    fault(sentence) {
      fault.textContent = sentence;
      fault.hidden = sentence === '';
    },
  };
}
