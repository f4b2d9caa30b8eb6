/** What the surveyor says should be done next: an urgency for each action chosen, or no action; and why. */
import { h } from '../../ui/elements.js';
import { flagControl, selectControl, textControl } from './fields_plain.js';
import { faultLine } from './field_frame.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */
/** @typedef {import('../../records/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../records/types.js').NextSteps} NextSteps */
/**
 * @template [V=import('../../ui/types.js').FieldValue]
 * @template [R=unknown]
 * @typedef {import('../../ui/types.js').Control<V, R>} Control
 */

/**
 * @param {Field} field
 * @param {() => void} changed
 * @param {import('../../records/tables.js').Actions} table
 * @returns {Control<NextSteps, Object<string, unknown>>}
 */
export function nextStepsControl(field, changed, table) {
  const choices = table.urgencies.map((one) => ({ value: one.urgency, label: upper(one.label) }));
  const of = (/** @type {string} */ name, /** @type {string} */ label, /** @type {Partial<Field>} */ more) =>
    /** @type {Field} */ ({ name, label, type: 'text', ...more });
  /** @type {Array<[string, Control]>} */
  const actions = table.actions
    .filter((one) => one.action !== 'none')
    .map((one) => [
      one.action,
      selectControl(of(one.action, one.label, { choices, help: one.help }), changed)
    ]);
  const none = flagControl(of('no_action', t('condition.no_action'), {}), changed);
  const why = textControl(of('why', t('condition.why'), { longest: 400, lines: 2 }), changed);
  /** @type {Array<[string, Control]>} */
  const all = [...actions, ['no_action', none], ['why', why]];
  const fault = faultLine('next-steps');
  const element = h('div', { class: 'stack' }, ...all.map(([, one]) => one.element), fault.element);
  /** @param {NextSteps | null | undefined} value */
  const set = (value) => {
    for (const [name, one] of all) one.setValue(value?.[/** @type {keyof NextSteps} */ (name)] ?? null);
  };
  return {
    name: field.name,
    element,
    fault: (sentence) => fault.show(element, sentence),
    focus: () => actions[0][1].focus(),
    raw: () => Object.fromEntries(all.map(([name, one]) => [name, one.raw()])),
    setRaw: (raw) => {
      for (const [name, one] of all) one.setRaw(raw?.[name] ?? '');
    },
    setValue: set,
    read() {
      /** @type {FieldsByName} */
      const value = {};
      for (const [name, one] of all) {
        const read = one.read();
        if (read.error) return { value: null, error: read.error };
        if (read.value !== null && read.value !== false && read.value !== '') value[name] = read.value;
      }
      const chosen = actions.some(([name]) => name in value);
      if (value.no_action && chosen) return { value: null, error: t('condition.either') };
      if (value.why && !value.no_action && !chosen) return { value: null, error: t('condition.choose') };
      return { value: Object.keys(value).length ? value : null };
    }
  };
}

/** @param {string} words */
function upper(words) {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}
