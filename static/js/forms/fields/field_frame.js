/** Label, help and fault around a control. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */

/** @param {string} id @returns {{element: HTMLElement, show: (frame: Element, sentence: string) => void}} */
export function faultLine(id) {
  const words = h('span', null);
  const element = h('p', { class: 'field-fault', id: `${id}-fault`, hidden: true }, icon('alert'), words);
  return {
    element,
    show(frame, sentence) {
      words.textContent = sentence;
      element.hidden = sentence === '';
      frame.classList.toggle('has-fault', sentence !== '');
      for (const input of frame.querySelectorAll('input, select, textarea')) {
        if (sentence) input.setAttribute('aria-invalid', 'true');
        else input.removeAttribute('aria-invalid');
      }
    }
  };
}

/** @param {Field} field @param {string} id @param {HTMLElement} control */
export function fieldFrame(field, id, control) {
  const fault = faultLine(id);
  const element = h(
    'div',
    { class: 'field' },
    h(
      'label',
      { class: 'field-label', for: id },
      field.label,
      field.required ? h('span', { class: 'needed' }, ` ${t('form.needed')}`) : null
    ),
    field.help ? h('p', { class: 'field-help', id: `${id}-help` }, field.help) : null,
    control,
    fault.element
  );
  return { element, fault: (/** @type {string} */ sentence) => fault.show(element, sentence) };
}

/**
 * @param {string} name
 * @param {{value: string, label: string, letter?: string}} option
 * @param {() => void} changed
 */
export function radioRow(name, option, changed) {
  const input = h('input', { type: 'radio', name, value: option.value, onchange: changed });
  const letter = option.letter ? h('span', { class: 'choice-letter' }, option.letter) : null;
  const element = h(
    'label',
    { class: 'choice' },
    input,
    h('span', { class: 'choice-dot' }),
    h('span', null, letter, option.label)
  );
  return { input, element };
}

/**
 * A row of keys of which one is down.
 * @template {string} V
 * @param {string} label
 * @param {Array<{value: V, label: string, icon?: SVGElement}>} options
 * @param {(value: V) => void} pressed
 */
export function segments(label, options, pressed) {
  const keys = options.map((one) =>
    h(
      'button',
      {
        type: 'button',
        class: 'segment',
        'aria-pressed': 'false',
        value: one.value,
        onclick: () => pressed(one.value)
      },
      one.icon ?? null,
      one.label
    )
  );
  const element = h('div', { class: 'segments', role: 'group', 'aria-label': label }, ...keys);
  return {
    element,
    /** @param {string | null | undefined} value */
    show(value) {
      for (const key of keys) key.setAttribute('aria-pressed', String(key.value === value));
    },
    /** @param {boolean} off */
    disable(off) {
      for (const key of keys) key.disabled = off;
    }
  };
}
