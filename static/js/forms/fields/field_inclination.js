/** An inclination in a plain form (the reading form has its own, with the number pad). */
import { h, uid } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { faultLine, segments } from './field_frame.js';
import { inclinationDraft, meaning, readInclination } from './inclination.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../records/types.js').Inclination} Inclination */
/** @typedef {import('./inclination.js').InclinationDraft} InclinationDraft */
/** @typedef {import('../../ui/types.js').Field} Field */

/** @returns {Array<{value: import('../../records/types.js').InclinationUnit, label: string}>} */
export function unitOptions() {
  return [
    { value: 'deg', label: t('incl.degrees') },
    { value: 'pct', label: t('incl.percent') },
    { value: 'one_in', label: t('incl.one_in') }
  ];
}

/** @returns {Array<{value: import('../../records/types.js').InclinationSense, label: string, icon: SVGElement}>} */
export function senseOptions() {
  return [
    { value: 'falling', label: t('incl.key_falling'), icon: icon('down') },
    { value: 'level', label: t('incl.key_level'), icon: icon('flat') },
    { value: 'rising', label: t('incl.key_rising'), icon: icon('up') }
  ];
}

/**
 * @param {Field} field
 * @param {() => void} changed
 * @returns {import('../../ui/types.js').Control<Inclination, InclinationDraft | Inclination>}
 */
export function inclinationControl(field, changed) {
  const name = uid(field.name);
  let draft = inclinationDraft(null);
  const input = h('input', {
    class: 'input',
    type: 'text',
    inputmode: 'decimal',
    autocomplete: 'off',
    id: `${name}-size`,
    'aria-label': t('incl.size'),
    oninput: () => {
      draft.text = input.value;
      show();
      changed();
    }
  });
  const unit = segments(t('incl.unit'), unitOptions(), (value) => {
    draft.unit = value;
    show();
    changed();
  });
  const sense = segments(t('incl.sense'), senseOptions(), (value) => {
    draft.sense = value;
    show();
    changed();
  });
  const over = h(
    'button',
    {
      type: 'button',
      class: 'segment',
      'aria-pressed': 'false',
      onclick: () => {
        draft.over = !draft.over;
        show();
        changed();
      }
    },
    t('incl.beyond')
  );
  const means = h('p', { class: 'field-help' });
  const fault = faultLine(name);
  const element = h(
    'fieldset',
    { class: 'field' },
    h('legend', null, field.label),
    field.help ? h('p', { class: 'field-help' }, field.help) : null,
    h('div', { class: 'pair' }, input, h('div', { class: 'segments' }, over)),
    unit.element,
    sense.element,
    means,
    fault.element
  );
  const show = () => {
    if (input.value !== draft.text) input.value = draft.text;
    unit.show(draft.unit);
    sense.show(draft.sense);
    over.setAttribute('aria-pressed', String(draft.over));
    input.disabled = draft.over;
    means.textContent = meaning(readInclination(draft).value);
  };
  show();
  return {
    name: field.name,
    element,
    focus: () => input.focus(),
    fault: (sentence) => fault.show(element, sentence),
    raw: () => ({ ...draft }),
    setRaw: (raw) => {
      draft = raw && 'over' in raw ? { ...raw } : inclinationDraft(raw);
      show();
    },
    setValue: (value) => {
      draft = inclinationDraft(value);
      show();
    },
    read: () => readInclination(draft)
  };
}
