/** Picks a node of the job, or makes a new one on the spot. */
import { h, uid } from '../../ui/elements.js';
import { fieldFrame } from './field_frame.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {{pick?: string | null, ref?: string, type?: string, id?: string}} NodeDraft */
/** @typedef {import('../../ui/types.js').Field} Field */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').NodeFields} NodeFields */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */

const NEW = 'new';

/**
 * @param {Field} field
 * @param {() => void} changed
 * @param {{view: JobView | null, app: App}} about
 * @returns {import('../../ui/types.js').Control<string, NodeDraft | string>}
 */
export function nodeControl(field, changed, { view, app }) {
  const id = uid(field.name);
  const nodes = view?.records('node') ?? [];
  const types = app.fields.kinds.node.fields.find((one) => one.name === 'node_type')?.choices ?? [];
  let newId = app.newId();
  const select = h(
    'select',
    {
      class: 'input',
      id,
      onchange: () => {
        showNew();
        changed();
      },
      'aria-describedby': `${id}-help ${id}-fault`
    },
    h('option', { value: '' }, t('form.not_said')),
    ...nodes.map((node) => h('option', { value: node.id }, nodeName(node, types))),
    h('option', { value: NEW }, t('node.add_here'))
  );
  const ref = h('input', {
    class: 'input',
    id: `${id}-ref`,
    type: 'text',
    autocomplete: 'off',
    oninput: changed
  });
  const type = h(
    'select',
    { class: 'input', id: `${id}-type`, onchange: changed },
    h('option', { value: '' }, t('form.not_said')),
    ...types.map((one) => h('option', { value: one.value }, one.label))
  );
  const fresh = h(
    'div',
    { class: 'card', hidden: true },
    h(
      'div',
      { class: 'field' },
      h('label', { class: 'field-label', for: `${id}-ref` }, t('node.new_ref', { what: field.label })),
      ref
    ),
    h(
      'div',
      { class: 'field' },
      h('label', { class: 'field-label', for: `${id}-type` }, t('node.new_type', { what: field.label })),
      type
    )
  );
  const frame = fieldFrame(field, id, h('div', { class: 'stack-s' }, select, fresh));
  const showNew = () => {
    fresh.hidden = select.value !== NEW;
  };
  /** @param {string | null | undefined} value */
  const setValue = (value) => {
    if (value && ![...select.options].some((one) => one.value === value))
      select.append(h('option', { value }, t('node.removed_or_unknown')));
    select.value = value ?? (nodes.length === 0 && field.required ? NEW : '');
    showNew();
  };
  setValue(null);
  return {
    name: field.name,
    element: frame.element,
    fault: frame.fault,
    focus: () => (fresh.hidden ? select : ref).focus(),
    raw: () => ({ pick: select.value, ref: ref.value, type: type.value, id: newId }),
    setRaw(raw) {
      if (typeof raw === 'string') return setValue(raw);
      newId = raw?.id ?? newId;
      setValue(raw?.pick);
      ref.value = raw?.ref ?? '';
      type.value = raw?.type ?? '';
      return undefined;
    },
    setValue,
    read() {
      if (select.value !== NEW) return { value: select.value || null };
      if (ref.value.trim() === '')
        return {
          value: null,
          error: field.required ? t('node.ref_needed', { what: field.label }) : undefined
        };
      /** @type {NodeFields} */
      const fields = { node_ref: ref.value.trim() };
      if (type.value) fields.node_type = /** @type {NodeFields['node_type']} */ (type.value);
      return { value: newId, before: [{ kind: 'node', record_id: newId, fields }] };
    }
  };
}

/** @param {NodeRecord} node @param {Array<{value: string, label: string}>} types @returns {string} */
export function nodeName(node, types) {
  const type = types.find((one) => one.value === node.fields.node_type)?.label;
  const ref = node.fields.node_ref ?? '?';
  return type ? t('node.with_type', { ref, type }) : ref;
}
