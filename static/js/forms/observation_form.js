/** The fields of an observation, as one form: place, code, what the code takes, start or finish, remark. */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { padWindow } from '../ui/number_pad.js';
import { findCode } from '../survey/codes.js';
import { codeFields } from './observation_fields.js';
import { codePicker } from './code_picker.js';
import { continuousField } from './continuous_field.js';
import { textControl } from './fields_plain.js';
import { readNumber } from './checks.js';
import { showFaults } from './form.js';
import { t } from '../text/en.js';

const OF_CODE = ['characterisation_1', 'characterisation_2', 'quantification_1', 'quantification_2', 'clock', 'at_joint'];

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').Control} Control */
/** @typedef {{control: {focus: () => void}, sentence: string}} Fault */

/**
 * @param {object} about
 * @param {any[]} about.rows the code table
 * @param {string[]} about.used codes used in this job, most used first
 * @param {any[]} about.observations of the run
 * @param {string} about.recordId
 * @param {(name: string) => Field} about.field
 * @param {(fields: Object<string, any>) => string[]} about.findings
 * @param {() => void} about.touched
 * @param {(counterM: number | null, hours: number[]) => import('./clock_helper.js').OffAxis | null} about.offAxis what a camera off the axis makes of hours
 */
export function observationForm({ rows, used, observations, recordId, field, findings, touched, offAxis }) {
  /** @type {Map<string, Control>} */
  let controls = new Map();
  const summary = h('div', { tabindex: '-1', hidden: true });
  const warnings = h('div', { class: 'warnings' });
  const codePlace = h('div', { class: 'fields' });
  const counter = padWindow({ label: t('pad.counter'), unit: 'm', name: 'counter', oninput: () => changed() });
  const picker = codePicker(rows, used, (code) => { setCode(code, {}); changed(); });
  const continuous = continuousField(observations, recordId, () => changed());
  const remark = textControl(field('remark'), () => changed());
  const counterRead = () => readNumber(field('counter_m'), counter.input.value);

  function changed() {
    const code = picker.get();
    const found = findings({ counter_m: counterRead().value, ...(code ? { code } : {}) });
    refill(warnings, ...found.map((words) => h('p', { class: 'warning' }, icon('alert'), h('span', null, words))));
    controls.get('clock')?.refresh?.();
    touched();
  }

  /** @param {string} code @param {Object<string, any>} values */
  function setCode(code, values) {
    const row = findCode(rows, code);
    controls = row ? codeFields(row, field, () => changed(), (hours) => offAxis(counterRead().value, hours)) : new Map();
    for (const [name, control] of controls) control.setValue(values[name] ?? null);
    continuous.setCode(code);
    continuous.element.hidden = !row?.continuous && !continuous.get();
    refill(codePlace, ...[...controls.values()].map((control) => control.element));
  }

  /** @param {string} code @param {any} going @param {Object<string, any>} values */
  function put(code, going, values) {
    picker.set(code);
    continuous.set(going);
    setCode(code, values);
  }

  return {
    counter,
    elements: { summary, place: [counter.element, warnings], rest: [picker.element, codePlace, continuous.element, remark.element] },
    place: () => counterRead().value,
    /** @param {Object<string, any>} values of a record */
    fill(values) {
      counter.input.value = values.counter_m === null || values.counter_m === undefined ? '' : String(values.counter_m);
      put(values.code ?? '', values.continuous, values);
      remark.setValue(values.remark);
    },
    raw: () => ({
      counter: counter.input.value, code: picker.get(), continuous: continuous.get(), remark: remark.raw(),
      parts: Object.fromEntries([...controls].map(([name, control]) => [name, control.raw()])),
    }),
    /** @param {any} raw of a draft */
    setRaw(raw) {
      counter.input.value = raw.counter ?? '';
      put(raw.code ?? '', raw.continuous, {});
      for (const [name, value] of Object.entries(raw.parts ?? {})) controls.get(name)?.setRaw(value);
      remark.setRaw(raw.remark);
    },
    /** @returns {Object<string, any> | null} null when something is wrong, and then that is said */
    read() {
      /** @type {Fault[]} */
      const faults = [];
      const take = taker(faults);
      const needed = (/** @type {string} */ name) => t('form.needed_sentence', { label: field(name).label });
      /** @type {Object<string, any>} */
      const out = {
        counter_m: take({ focus: () => counter.input.focus() }, counterRead(), needed('counter_m')),
        code: take(picker, { value: picker.get() || null }, needed('code')),
      };
      for (const name of OF_CODE) {
        const control = controls.get(name);
        out[name] = control ? take(control, control.read()) : null;
      }
      out.continuous = continuous.get();
      out.remark = take(remark, remark.read());
      counter.element.classList.toggle('has-fault', out.counter_m === null);
      showFaults(summary, faults);
      return faults.length ? null : out;
    },
  };
}

/** Notes the fault of a control, if it has one, and gives its value. @param {Fault[]} faults */
function taker(faults) {
  /** @param {{focus: () => void, fault?: (sentence: string) => void}} control @param {{value: any, error?: string}} got @param {string} [needed] */
  return (control, got, needed) => {
    const sentence = got.error ?? (needed && got.value === null ? needed : '');
    control.fault?.(sentence);
    if (sentence) faults.push({ control, sentence });
    return got.value;
  };
}
