/**
 * A quantity: usual values as keys, any other by the pad. What is only as last time says so until it is
 * touched.
 */
import { h, refill, uid } from '../../ui/elements.js';
import { padWindow } from '../../ui/number_pad.js';
import { faultLine } from './field_frame.js';
import { readNumber } from './checks.js';
import { sized, unitText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */
/** @typedef {{value: number | string | null | undefined, words: string}} Carried */
/**
 * @typedef {import('../../ui/types.js').Control<number, string> & {window: {element: HTMLElement, input:
 *   HTMLInputElement}, carry: (from: Carried | null) => void, carried: () => boolean}} QuantityControl
 */

/**
 * @param {Field} field
 * @param {() => import('../../survey/coding/code_quantities.js').AskedQuantity | null} quantityOf what is
 *   asked of the kind chosen: unit, usual values
 * @param {() => void} changed
 * @returns {QuantityControl}
 */
export function quantityControl(field, quantityOf, changed) {
  const id = uid(field.name);
  const window = padWindow({ label: field.label, unit: ' ', name: field.name, oninput: () => touched() });
  const { input } = window;
  const keys = h('div', {
    class: 'usual-values',
    role: 'group',
    'aria-label': t('quantity.usual', { label: field.label })
  });
  const tag = h('p', { class: 'carried', role: 'status', hidden: true });
  const fault = faultLine(id);
  const help = field.help ? h('p', { class: 'field-help', id: `${id}-help` }, field.help) : null;
  const element = h('div', { class: 'field quantity' }, window.element, tag, keys, help, fault.element);
  const unit = () => unitText(quantityOf()?.unit ?? '');
  let carried = '';
  input.setAttribute('aria-describedby', `${id}-help ${id}-fault`);
  input.addEventListener('focus', () => setTimeout(() => input.select(), 0));

  function show() {
    const values = quantityOf()?.usual ?? [];
    window.setUnit(unit());
    tag.hidden = carried === '';
    refill(tag, carried ? [h('strong', null, carried), ' ', h('span', null, t('carried.how'))] : null);
    element.classList.toggle('as-carried', carried !== '');
    refill(
      keys,
      ...values.map((value) =>
        h(
          'button',
          {
            type: 'button',
            class: 'usual-value',
            'data-key': `${id}-${value}`,
            'aria-pressed': String(input.value === String(value) && carried === ''),
            onclick: () => {
              input.value = String(value);
              touched();
            }
          },
          sized(value, unit())
        )
      )
    );
    keys.hidden = values.length === 0;
  }
  function touched() {
    carried = '';
    show();
    changed();
  }
  const put = (/** @type {string | number | null | undefined} */ text) => {
    input.value = text === null || text === undefined ? '' : String(text);
    carried = '';
    show();
  };
  show();
  return {
    name: field.name,
    element,
    window,
    focus: () => input.focus(),
    refresh: show,
    fault: (sentence) => fault.show(element, sentence),
    raw: () => input.value,
    setRaw: put,
    setValue: put,
    read: () => readNumber({ ...field, unit: unit() }, input.value),
    carry(from) {
      if (!from) return;
      input.value = String(from.value);
      carried = from.words;
      show();
    },
    carried: () => carried !== ''
  };
}
