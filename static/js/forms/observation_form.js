/** The fields of an observation, as one form: place, code, what the code takes, start or finish, remark. */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { findCode } from '../survey/coding/codes.js';
import { KINDS, codeFields } from './observation_fields.js';
import { QUANTITIES, carriedFrom, takenOver } from './carried.js';
import { codePicker } from './code_picker.js';
import { continuousField } from './fields/continuous_field.js';
import { counterPlace } from './counter_place.js';
import { onward } from './next_field.js';
import { textControl } from './fields/fields_plain.js';
import { showFaults } from './form.js';
import { t } from '../text/words.js';

/** @type {FieldName[]} */
const OF_CODE = [...KINDS, ...QUANTITIES, 'clock', 'turns_to', 'at_joint'];

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').Control} Control */
/** @typedef {import('../ui/types.js').CodeRow} CodeRow */
/** @typedef {import('../ui/types.js').PipeChange} PipeChange */
/** @typedef {import('../records/types.js').Clock} Clock */
/** @typedef {import('../records/types.js').Continuous} Continuous */
/** @typedef {keyof ObservationFields & string} FieldName */
/** @typedef {import('../records/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {ObservationFields & {counter_m: number, code: string}} ObservationTyped */
/**
 * What a draft keeps of it.
 * @typedef {{counter?: string, code?: string, continuous?: Continuous | null, remark?: string,
 *   carried?: string[], parts?: Object<string, unknown>, further?: Object<string, unknown>}} ObservationDraft
 */
/** @typedef {import('./carried.js').Kinds} Kinds */
/** @typedef {{control: {focus: () => void}, sentence: string}} Fault */

/**
 * @param {object} about
 * @param {CodeRow[]} about.rows the code table
 * @param {(text: string, limit: number) => Array<CodeRow | PipeChange>} about.search
 * @param {import('./usual_keys.js').UsualRow[]} about.usual
 * @param {string[]} about.used codes used in this job, most used first
 * @param {ObservationRecord[]} about.observations of the run
 * @param {ObservationRecord[]} about.ofJob observations of the job
 * @param {string} about.recordId
 * @param {boolean} about.brief quantities stand apart from the rest of what the code takes
 * @param {(name: FieldName) => Field} about.field
 * @param {Control[]} about.further controls of the fields that stand nowhere else, in their order
 * @param {(fields: ObservationFields) => string[]} about.findings
 * @param {() => void} about.touched
 * @param {(row: PipeChange) => void} about.changeChosen a change of the pipe was chosen in place of a code
 * @param {(window: {element: HTMLElement, input: HTMLInputElement}) => void} about.pad gives a window the
 *   number pad
 * @param {(counterM: number | null, hours: number[]) => import('./clock_helper.js').OffAxis | null}
 *   about.offAxis what a camera off the axis makes of hours
 */
export function observationForm(about) {
  const { rows, observations, recordId, field, findings, touched, offAxis } = about;
  const others = (/** @type {ObservationRecord[]} */ some) => some.filter((one) => one.id !== recordId);
  /** @type {Map<string, Control>} */
  let controls = new Map();
  const summary = h('div', { tabindex: '-1', hidden: true });
  const warnings = h('div', { class: 'warnings' });
  const codePlace = h('div', { class: 'fields' });
  const quantityPlace = h('div', { class: 'fields' });
  const counter = counterPlace(field('counter_m'), () => changed());
  const picker = codePicker({ ...about, chosen: choose, writtenChosen: takeWritten });
  const continuous = continuousField(observations, recordId, () => changed(), {
    title: (code) => findCode(rows, code)?.title ?? '',
    picked: takeItem
  });
  const remark = textControl(field('remark'), () => changed());
  const further = new Map(about.further.map((control) => [control.name, control]));
  for (const [name, control] of further) control.element.dataset.field = name;
  about.pad(counter.window);

  function changed(name = '') {
    const code = picker.get();
    const found = findings({ counter_m: counter.read().value, ...(code ? { code } : {}) });
    refill(
      warnings,
      ...found.map((words) => h('p', { class: 'warning' }, icon('alert'), h('span', null, words)))
    );
    controls.get('clock')?.refresh?.();
    if (name && controls.get(name)?.raw() !== '') onward(controls, name);
    touched();
  }

  /**
   * A code from the keys or the search: with it goes what it had last time.
   * @param {string} code
   * @param {Kinds | null} kinds
   */
  function choose(code, kinds) {
    const carry = carriedFrom(others(observations), others(about.ofJob), code, kinds);
    setCode(code, carry.kinds, carry.clock);
    for (const [name, from] of Object.entries(carry.quantities)) quantity(name)?.carry(from);
    if (!kinds) for (const name of KINDS) if (carry.kinds[/** @type {keyof Kinds} */ (name)]) markKind(name);
    changed();
    onward(controls, '');
  }

  /**
   * Something that runs was chosen to be finished or changed.
   * @param {import('../survey/coding/continuous.js').ContinuousItem} item
   */
  function takeItem(item) {
    const { code, characterisation_1, characterisation_2, clock } = item.parts[item.parts.length - 1].fields;
    picker.set(code ?? '');
    setCode(code ?? '', { characterisation_1, characterisation_2, clock }, null);
  }

  /** A whole observation was typed in one line. @param {ObservationFields} fields */
  function takeWritten(fields) {
    put(fields.code ?? '', fields.continuous, fields);
    if (fields.remark) remark.setValue(fields.remark);
    changed();
  }

  /** @param {string} code @param {ObservationFields & FieldsByName} values @param {Clock | null} lastClock */
  function setCode(code, values, lastClock) {
    const row = findCode(rows, code);
    controls = row
      ? codeFields(row, field, changed, (hours) => offAxis(counter.read().value, hours), lastClock)
      : new Map();
    for (const [name, control] of controls) {
      control.element.dataset.field = name;
      control.setValue(values[name] ?? null);
    }
    for (const name of QUANTITIES) {
      const control = quantity(name);
      control?.refresh?.();
      if (control) about.pad(control.window);
    }
    for (const name of takenOver(values.as_before))
      quantity(name)?.carry({ value: values[name], words: t('carried.tag_plain') });
    continuous.setCode(code);
    continuous.element.hidden = !row?.continuous && !continuous.get();
    const apart = (/** @type {Control} */ control) =>
      about.brief && /** @type {string[]} */ (QUANTITIES).includes(control.name);
    const list = [...controls.values()];
    refill(codePlace, ...list.filter((control) => !apart(control)).map((control) => control.element));
    refill(quantityPlace, ...list.filter(apart).map((control) => control.element));
  }

  /** @param {string} name @returns {import('./fields/quantity_field.js').QuantityControl | undefined} */
  const quantity = (name) =>
    /** @type {import('./fields/quantity_field.js').QuantityControl | undefined} */ (controls.get(name));
  const carriedNames = () =>
    QUANTITIES.filter((name) => quantity(name)?.carried() && quantity(name)?.raw() !== '');

  /** @param {string} name */
  function markKind(name) {
    const element = controls.get(name)?.element;
    const tag = h('p', { class: 'carried' }, h('strong', null, t('carried.kind')));
    element?.append(tag);
    element?.addEventListener('change', () => tag.remove(), { once: true });
  }

  /** @param {string} code @param {Continuous | null | undefined} going @param {ObservationFields} values */
  function put(code, going, values) {
    picker.set(code);
    continuous.set(going);
    setCode(code, values, null);
  }

  counter.element.dataset.field = 'counter_m';
  continuous.element.dataset.field = 'continuous';
  return {
    counter,
    elements: {
      summary,
      place: [counter.element, warnings],
      quantities: quantityPlace,
      rest: [
        picker.element,
        codePlace,
        continuous.element,
        ...about.further.map((control) => control.element),
        remark.element
      ]
    },
    place: () => counter.read().value,
    /**
     * @param {ObservationFields & FieldsByName} values of a record
     * @param {string | null} [whence] where its place is from, in words
     */
    fill(values, whence = null) {
      counter.fill(values.counter_m, whence);
      put(values.code ?? '', values.continuous, values);
      remark.setValue(values.remark);
      for (const [name, control] of further) control.setValue(values[name] ?? null);
    },
    raw: () => ({
      counter: counter.input.value,
      code: picker.get(),
      continuous: continuous.get(),
      remark: remark.raw(),
      carried: carriedNames(),
      parts: Object.fromEntries([...controls].map(([name, control]) => [name, control.raw()])),
      further: Object.fromEntries([...further].map(([name, control]) => [name, control.raw()]))
    }),
    /** @param {ObservationDraft} raw of a draft */
    setRaw(raw) {
      counter.setRaw(raw.counter ?? '');
      put(raw.code ?? '', raw.continuous, {});
      for (const [name, value] of Object.entries(raw.parts ?? {})) controls.get(name)?.setRaw(value);
      for (const name of raw.carried ?? [])
        quantity(name)?.carry({
          value: /** @type {string} */ (raw.parts?.[name]),
          words: t('carried.tag_plain')
        });
      for (const [name, value] of Object.entries(raw.further ?? {})) further.get(name)?.setRaw(value);
      remark.setRaw(raw.remark);
    },
    /** @returns {ObservationTyped | null} null when something is wrong, and then that is said */
    read() {
      /** @type {Fault[]} */
      const faults = [];
      const between = { as_before: carriedNames().join(',') || null, continuous: continuous.get() };
      const typed = typedValues({ counter, picker, controls, further, field }, between, taker(faults));
      typed.remark = taker(faults)(remark, remark.read());
      counter.mark(typed.counter_m === null);
      showFaults(summary, faults);
      return faults.length ? null : /** @type {FieldsByName & ObservationTyped} */ (typed);
    }
  };
}

/**
 * The place, the code, what the code takes, and the fields that stand nowhere else, in the order of the form.
 * @param {{counter: ReturnType<typeof counterPlace>, picker: ReturnType<typeof codePicker>, controls:
 *   Map<string, Control>, further: Map<string, Control>, field: (name: FieldName) => Field}} form
 * @param {FieldsByName} between what stands before those that stand nowhere else
 * @param {ReturnType<typeof taker>} take
 */
function typedValues({ counter, picker, controls, further, field }, between, take) {
  const needed = (/** @type {FieldName} */ name) => t('form.needed_sentence', { label: field(name).label });
  /** @type {FieldsByName} */
  const out = {
    counter_m: take({ focus: () => counter.input.focus() }, counter.read(), needed('counter_m')),
    code: take(picker, { value: picker.get() || null }, needed('code'))
  };
  for (const name of OF_CODE) {
    const control = controls.get(name);
    out[name] = control ? take(control, control.read()) : null;
  }
  Object.assign(out, between);
  for (const [name, control] of further) {
    const own = /** @type {FieldName} */ (name);
    out[name] = take(control, control.read(), field(own).required ? needed(own) : '');
  }
  return out;
}

/** Notes the fault of a control, if it has one, and gives its value. @param {Fault[]} faults */
function taker(faults) {
  /**
   * @template V
   * @param {{focus: () => void, fault?: (sentence: string) => void}} control
   * @param {{value: V, error?: string}} got
   * @param {string} [needed]
   */
  return (control, got, needed) => {
    const sentence = got.error ?? (needed && got.value === null ? needed : '');
    control.fault?.(sentence);
    if (sentence) faults.push({ control, sentence });
    return got.value;
  };
}
