/** Controls for numbers, text, choices, dates and yes or no. */
import { h, uid } from '../../ui/elements.js';
import { faultLine, fieldFrame, radioRow } from './field_frame.js';
import { readNumber, readText } from './checks.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */
/**
 * @template [V=import('../../ui/types.js').FieldValue]
 * @template [R=unknown]
 * @typedef {import('../../ui/types.js').Control<V, R>} Control
 */

const FEW = 6;

/** @param {Field} field @param {() => void} changed @returns {Control<number, string>} */
export function numberControl(field, changed) {
  const id = uid(field.name);
  const input = h('input', {
    class: 'input',
    id,
    inputmode: field.whole ? 'numeric' : 'decimal',
    autocomplete: 'off',
    type: 'text',
    oninput: changed,
    'aria-describedby': `${id}-help ${id}-fault`
  });
  const unit = field.unit ? h('span', { class: 'unit', 'aria-hidden': 'true' }, field.unit) : null;
  const shown = unit ? h('div', { class: 'with-unit' }, input, unit) : input;
  const frame = fieldFrame(field, id, shown);
  return {
    name: field.name,
    element: frame.element,
    focus: () => input.focus(),
    fault: frame.fault,
    raw: () => input.value,
    setRaw: (raw) => {
      input.value = String(raw ?? '');
    },
    setValue: (value) => {
      input.value = value === null || value === undefined ? '' : String(value);
    },
    read: () => readNumber(field, input.value)
  };
}

/** @param {Field} field @param {() => void} changed @returns {Control<string, string>} */
export function textControl(field, changed) {
  const id = uid(field.name);
  const props = {
    class: 'input',
    id,
    oninput: changed,
    dir: 'auto',
    'aria-describedby': `${id}-help ${id}-fault`
  };
  const input =
    (field.lines ?? 1) > 1
      ? h('textarea', { ...props, rows: String(Math.max(2, field.lines ?? 2)) })
      : h('input', { ...props, type: 'text', autocomplete: 'off' });
  const frame = fieldFrame(field, id, input);
  return {
    name: field.name,
    element: frame.element,
    focus: () => input.focus(),
    fault: frame.fault,
    raw: () => input.value,
    setRaw: (raw) => {
      input.value = String(raw ?? '');
    },
    setValue: (value) => {
      input.value = value ?? '';
    },
    read: () => readText(field, input.value)
  };
}

/** @param {Field} field @param {() => void} changed @returns {Control<string, string>} */
export function dateControl(field, changed) {
  const id = uid(field.name);
  const input = h('input', {
    class: 'input',
    id,
    type: 'date',
    oninput: changed,
    'aria-describedby': `${id}-help ${id}-fault`
  });
  const frame = fieldFrame(field, id, input);
  return {
    name: field.name,
    element: frame.element,
    focus: () => input.focus(),
    fault: frame.fault,
    raw: () => input.value,
    setRaw: (raw) => {
      input.value = raw ?? '';
    },
    setValue: (value) => {
      input.value = value ?? '';
    },
    read: () => readText(field, input.value)
  };
}

/**
 * A few choices are big rows; many are a list.
 * @param {Field} field
 * @param {() => void} changed
 * @returns {Control<string, string>}
 */
export function choiceControl(field, changed) {
  return (field.choices ?? []).length <= FEW ? radioControl(field, changed) : selectControl(field, changed);
}

/** @param {Field} field @param {() => void} changed @returns {Control<string, string>} */
export function selectControl(field, changed) {
  const id = uid(field.name);
  const input = h(
    'select',
    { class: 'input', id, onchange: changed, 'aria-describedby': `${id}-help ${id}-fault` },
    h('option', { value: '' }, t('form.not_said')),
    ...(field.choices ?? []).map((one) => h('option', { value: one.value }, one.label))
  );
  const frame = fieldFrame(field, id, input);
  /** @param {string | null | undefined} value */
  const set = (value) => {
    // A value this version does not know must not be lost by opening the form.
    if (value && ![...input.options].some((one) => one.value === value))
      input.append(h('option', { value }, value));
    input.value = value ?? '';
  };
  return {
    name: field.name,
    element: frame.element,
    focus: () => input.focus(),
    fault: frame.fault,
    raw: () => input.value,
    setRaw: set,
    setValue: set,
    read: () => ({ value: input.value === '' ? null : input.value })
  };
}

/**
 * @param {Field} field
 * @param {() => void} changed
 * @param {string} [extra]
 * @param {boolean} [clearable]
 * @returns {Control<string, string>}
 */
export function radioControl(field, changed, extra = '', clearable = !field.required) {
  const name = uid(field.name);
  const choices = field.choices ?? [];
  const rows = choices.map((one) =>
    radioRow(name, one, () => {
      show();
      changed();
    })
  );
  const clear = h(
    'button',
    {
      type: 'button',
      class: 'button quiet',
      hidden: true,
      onclick: () => {
        set(null);
        changed();
      }
    },
    t('form.clear')
  );
  const fault = faultLine(name);
  const element = h(
    'fieldset',
    { class: 'field', 'aria-describedby': `${name}-fault` },
    h(
      'legend',
      null,
      field.label,
      field.required ? h('span', { class: 'needed' }, ` ${t('form.needed')}`) : null
    ),
    field.help ? h('p', { class: 'field-help' }, field.help) : null,
    h('div', { class: `choices ${extra}` }, ...rows.map((row) => row.element)),
    clearable ? clear : null,
    fault.element
  );
  const value = () => rows.find((row) => row.input.checked)?.input.value ?? '';
  const show = () => {
    clear.hidden = value() === '';
  };
  /** @param {string | null | undefined} wanted */
  const set = (wanted) => {
    for (const row of rows) row.input.checked = row.input.value === wanted;
    show();
  };
  return {
    name: field.name,
    element,
    fault: (sentence) => fault.show(element, sentence),
    focus: () => (rows.find((row) => row.input.checked) ?? rows[0])?.input.focus(),
    raw: value,
    setRaw: set,
    setValue: set,
    read: () => ({ value: value() === '' ? null : value() })
  };
}

/** @param {Field} field @param {() => void} changed @returns {Control<boolean, string>} */
export function flagControl(field, changed) {
  const choices = [
    { value: 'yes', label: t('form.yes') },
    { value: 'no', label: t('form.no') }
  ];
  const inner = radioControl({ ...field, choices }, changed, 'answers');
  return {
    ...inner,
    setValue: (value) => inner.setRaw(value === true ? 'yes' : value === false ? 'no' : ''),
    read: () => ({ value: inner.raw() === '' ? null : inner.raw() === 'yes' })
  };
}
