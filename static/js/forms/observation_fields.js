/** The fields that one code takes, and no others: driven by the table. */
import { h } from '../ui/elements.js';
import { clockDial } from '../ui/clock_dial.js';
import { quantityFor } from '../survey/coding/code_quantities.js';
import { clockHelper } from './clock_helper.js';
import { radioControl, selectControl, flagControl } from './fields/fields_plain.js';
import { quantityControl } from './fields/quantity_field.js';
import { QUANTITIES } from './carried.js';
import { t } from '../text/words.js';

const MANY = 8;
/** @type {LetterField[]} */
export const KINDS = ['characterisation_1', 'characterisation_2'];
/** @type {string[]} */
const FOLLOW = [...QUANTITIES, 'turns_to']; // what changes with the kind

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').CodeRow} CodeRow */
/** @typedef {import('../ui/types.js').Control} Control */
/** @typedef {import('../ui/clock_dial.js').Clock} Clock */
/** @typedef {import('../ui/clock_dial.js').Hours} Hours */
/** @typedef {import('../survey/coding/codes.js').LetterField} LetterField */
/**
 * @template [V=import('../ui/types.js').FieldValue]
 * @template [R=unknown]
 * @typedef {import('../ui/types.js').Control<V, R>} ControlOf
 */

/**
 * @param {CodeRow} row of the code table
 * @param {(name: keyof import('../records/types.js').ObservationFields & string) => Field} fieldOf
 * @param {(name: string) => void} changed
 * @param {import('./clock_helper.js').Ask} offAxis
 * @param {Clock | null} lastClock of the same code, offered as one key
 * @returns {Map<string, Control>}
 */
export function codeFields(row, fieldOf, changed, offAxis, lastClock) {
  /** @type {Map<string, Control>} */
  const controls = new Map();
  const kind = () => String(controls.get('characterisation_1')?.raw() ?? '');
  for (const name of KINDS) {
    const choices = row[name].map((one) => ({ ...one, letter: one.value }));
    if (choices.length === 0) continue;
    const field = { ...fieldOf(name), label: t(name === KINDS[0] ? 'obs.kind' : 'obs.kind_2'), choices };
    const onChange = () => {
      for (const one of controls.values()) if (FOLLOW.includes(one.name)) one.refresh?.();
      changed(name);
    };
    const control =
      choices.length > MANY
        ? selectControl({ ...field, choices: choices.map(withLetter) }, onChange)
        : radioControl(field, onChange, 'two');
    controls.set(name, { ...control, spare: () => name !== KINDS[0] && !row[`${name}_needed`] });
  }
  for (const name of QUANTITIES) {
    const quantity = row[name];
    if (!quantity?.label) continue;
    const field = { ...fieldOf(name), label: quantity.label, help: quantity.note || undefined };
    const control = quantityControl(
      field,
      () => quantityFor(row, name, kind()),
      () => changed(name)
    );
    controls.set(name, {
      ...control,
      spare: () => name !== QUANTITIES[0] && !quantityFor(row, name, kind())?.needed
    });
  }
  if (row.clock_references > 0)
    controls.set(
      'clock',
      clockControl(row.clock_references, () => changed('clock'), offAxis, lastClock)
    );
  if (row.direction_with)
    controls.set(
      'turns_to',
      directionControl(
        fieldOf('turns_to'),
        () => /** @type {string[]} */ (row.direction_with).includes(kind()),
        () => changed('turns_to')
      )
    );
  if (row.joint === 'optional')
    controls.set('at_joint', {
      ...flagControl({ ...fieldOf('at_joint') }, () => changed('at_joint')),
      spare: () => true
    });
  return controls;
}

/**
 * Which way the pipe turns: asked of a joint at an angle, in sight only then.
 * @param {Field} field
 * @param {() => boolean} quantity
 * @param {() => void} changed
 * @returns {ControlOf<string, string>}
 */
function directionControl(field, quantity, changed) {
  const inner = radioControl(field, changed, 'two');
  const control = {
    ...inner,
    spare: () => !quantity(),
    refresh: () => {
      inner.element.hidden = !quantity() && inner.raw() === '';
    },
    setValue: (/** @type {string | null | undefined} */ value) => {
      inner.setValue(value);
      control.refresh();
    },
    setRaw: (/** @type {string | null | undefined} */ value) => {
      inner.setRaw(value);
      control.refresh();
    }
  };
  control.refresh();
  return control;
}

/** @param {{value: string, label: string}} one */
function withLetter(one) {
  return { value: one.value, label: t('value.code', { code: one.value, label: one.label }) };
}

/**
 * @param {number} references
 * @param {() => void} changed
 * @param {import('./clock_helper.js').Ask} offAxis
 * @param {Clock | null} last
 * @returns {ControlOf<Clock, Hours & {seen?: Hours}>}
 */
function clockControl(references, changed, offAxis, last) {
  const fault = h('p', { class: 'field-fault', hidden: true });
  const dial = clockDial(
    references,
    () => {
      fault.hidden = true;
      helper.chosen();
      changed();
    },
    last
  );
  const helper = clockHelper(dial, offAxis, changed);
  return {
    name: 'clock',
    element: h('div', null, dial.element, helper.element, fault),
    focus: dial.focus,
    raw: () => ({ ...dial.raw(), seen: helper.seen() }),
    read: dial.read,
    refresh: helper.show,
    setRaw(raw) {
      dial.set(raw);
      helper.stood(raw?.seen);
    },
    setValue(value) {
      dial.set(value);
      helper.stood();
    },
    fault(sentence) {
      fault.textContent = sentence;
      fault.hidden = sentence === '';
    }
  };
}
