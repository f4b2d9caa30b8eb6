/** Builds the fields of a record from their descriptions, reads them, and says what is wrong. */
import { h, refill, uid } from '../ui/elements.js';
import { note } from '../ui/page.js';
import { canonical } from '../records/fold.js';
import { bearingControl, positionControl } from './fields/field_place.js';
import {
  choiceControl,
  dateControl,
  flagControl,
  numberControl,
  selectControl,
  textControl
} from './fields/fields_plain.js';
import { partControl } from './fields/field_counter_part.js';
import { inclinationControl } from './fields/field_inclination.js';
import { nextStepsControl } from './fields/field_next_steps.js';
import { nodeControl } from './fields/field_node.js';
import { neededSentence } from './fields/checks.js';
import { t } from '../text/words.js';

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').Control} Control */
/** @typedef {import('../ui/types.js').Change} Change */

/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').JobView} JobView */
/** @typedef {import('../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../ui/types.js').FieldsByName} FieldsByName */

/**
 * @param {Field} field
 * @param {() => void} changed
 * @param {{app: App, view: JobView | null, runId?: string | null}} about
 * @returns {Control}
 */
export function controlFor(field, changed, about) {
  switch (field.type) {
    case 'number':
      return numberControl(field, changed);
    case 'choice':
      return choiceControl(field, changed);
    case 'date':
      return dateControl(field, changed);
    case 'flag':
      return flagControl(field, changed);
    case 'position':
      return positionControl(field, changed);
    case 'bearing':
      return bearingControl(field, changed);
    case 'counter_part':
      return partControl(field, changed, about);
    case 'inclination':
      return inclinationControl(field, changed);
    case 'next_steps':
      return nextStepsControl(field, changed, about.app.tables.actions);
    case 'ref':
      return field.to === 'node' ? nodeControl(field, changed, about) : runControl(field, changed, about);
    default:
      return textControl(field, changed);
  }
}

/** @param {Field} field @param {() => void} changed @param {{view: JobView | null}} about */
function runControl(field, changed, { view }) {
  const runs = view?.records('run') ?? [];
  const choices = runs.map((run) => ({ value: run.id, label: run.fields.run_ref ?? '?' }));
  return selectControl({ ...field, choices }, changed);
}

/**
 * @param {{app: App, view: JobView | null, runId?: string | null}} about of a record on a run, its id
 * @param {Field[]} fields
 * @param {() => void} changed
 */
export function buildForm(about, fields, changed) {
  /** @type {Map<string, Control>} */
  const controls = new Map(
    fields.map((field) => [field.name, controlFor(field, () => touched(field.name), about)])
  );
  const summary = h('div', { tabindex: '-1', hidden: true, class: 'faults', id: uid('faults') });
  const plain = fields.filter((field) => !field.advanced && !field.group);
  const groups = [...new Set(fields.map((field) => field.group ?? '').filter(Boolean))];
  const advanced = fields.filter((field) => field.advanced);
  const elementOf = (/** @type {Field} */ field) => /** @type {Control} */ (controls.get(field.name)).element;
  for (const field of fields) elementOf(field).dataset.field = field.name;
  const element = h(
    'div',
    { class: 'fields' },
    summary,
    ...plain.map(elementOf),
    ...groups.map((group) =>
      h(
        'details',
        null,
        h('summary', null, group),
        ...fields.filter((field) => field.group === group).map(elementOf)
      )
    ),
    advanced.length
      ? h('details', null, h('summary', null, t('form.more_detail')), ...advanced.map(elementOf))
      : null
  );
  /** @type {FieldsByName} */
  let opened = {};

  /** @param {string} name */
  function touched(name) {
    controls.get(name)?.fault('');
    changed();
  }

  return {
    element,
    controls,
    /** @param {FieldsByName} values of the record as it stands */
    setValues(values) {
      opened = values;
      for (const [name, control] of controls) control.setValue(values[name] ?? null);
    },
    /**
     * Values from elsewhere laid over it, such as those of an entry that was set aside.
     * @param {AnyFields} values
     */
    overlay(values) {
      for (const [name, value] of Object.entries(values)) controls.get(name)?.setValue(value);
    },
    raw: () => Object.fromEntries([...controls].map(([name, control]) => [name, control.raw()])),
    /** @param {Object<string, unknown>} raw */
    setRaw(raw) {
      for (const [name, value] of Object.entries(raw)) controls.get(name)?.setRaw(value);
    },
    /** What the person changed; null when something is wrong, and then the first fault has the focus.
     * @returns {{fields: FieldsByName, before: Change[]} | null} */
    read() {
      /** @type {FieldsByName} */
      const found = {};
      /** @type {Change[]} */
      const before = [];
      /** @type {Array<{control: Control, sentence: string}>} */
      const faults = [];
      for (const field of fields) {
        const control = /** @type {Control} */ (controls.get(field.name));
        const { value, error, before: more } = control.read();
        const sentence = error ?? (field.required && value === null ? neededSentence(field) : '');
        control.fault(sentence);
        if (sentence) faults.push({ control, sentence });
        else if (canonical(value) !== canonical(opened[field.name] ?? null)) {
          found[field.name] = value;
          before.push(...(more ?? []));
        }
      }
      showFaults(summary, faults);
      return faults.length ? null : { fields: found, before };
    }
  };
}

/**
 * @param {HTMLElement} summary
 * @param {Array<{control: {focus: () => void, element?: Element}, sentence: string}>} faults
 */
export function showFaults(summary, faults) {
  summary.hidden = faults.length === 0;
  refill(
    summary,
    faults.length === 0
      ? null
      : note(
          'fault',
          h('strong', null, t('form.faults', { n: faults.length })),
          h(
            'ul',
            null,
            ...faults.map(({ control, sentence }) =>
              h('li', null, h('a', { href: '#', onclick: goTo(control) }, sentence))
            )
          )
        )
  );
  if (faults.length) {
    const details = faults[0].control.element?.closest('details');
    if (details) details.open = true;
    summary.focus();
    summary.scrollIntoView({ block: 'center' });
  }
}

/** @param {{focus: () => void}} control @returns {(event: Event) => void} */
function goTo(control) {
  return (event) => {
    event.preventDefault();
    control.focus();
  };
}
