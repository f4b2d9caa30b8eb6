/** The two windows of a reading, the keys that feed them, and what they mean, said while they are typed. */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { numberPad, padWindow } from '../ui/number_pad.js';
import { button } from '../ui/page.js';
import { parseNumber } from '../ui/format.js';
import { readNumber } from './fields/checks.js';
import { counterReset } from './counter_reset.js';
import { segments } from './fields/field_frame.js';
import { senseOptions, unitOptions } from './fields/field_inclination.js';
import { showFaults } from './form.js';
import { inclinationIcon, meaning, readInclination } from './fields/inclination.js';
import { t } from '../text/words.js';

/**
 * @typedef {{counter: string, incl: import('./fields/inclination.js').InclinationDraft, reset?:
 *   import('./counter_reset.js').ResetDraft | null, record_id: string}} ReadingDraft
 */

/** @typedef {import('../records/types.js').ReadingFields} ReadingFields */
/** @typedef {Pick<ReadingFields, 'counter_m' | 'inclination' | 'counter_reset'>} ReadingSoFar */
/**
 * @typedef {ReadingSoFar & {counter_m: number, inclination: import('../records/types.js').Inclination}}
 *   ReadingTyped
 */

/**
 * @param {object} about
 * @param {import('../ui/types.js').Field} about.field of the counter
 * @param {ReadingDraft} about.state
 * @param {number | null} about.offered shown where nothing has been typed
 * @param {() => number | null} about.before what the counter showed at the reading before this one
 * @param {(fields: ReadingSoFar) => Array<{code: string, words: string}>} about.findings
 * @param {() => void} about.touched
 */
export function readingForm({ field, state, offered, before, findings, touched }) {
  const changed = () => {
    showFaults(summary, []);
    show();
    touched();
  };
  const counter = padWindow({
    label: t('pad.counter'),
    unit: 'm',
    name: 'counter',
    oninput: () => {
      state.counter = counter.input.value;
      changed();
    }
  });
  const inclination = padWindow({
    label: t('pad.inclination'),
    name: 'inclination',
    oninput: () => {
      state.incl.text = inclination.input.value;
      state.incl.over = false;
      changed();
    }
  });
  const reset = counterReset({ field, state, before, changed });
  const keys = inclinationKeys(state, changed);
  const pad = numberPad([counter, inclination, ...reset.windows]);
  const summary = h('div', { tabindex: '-1', hidden: true });
  const means = h('p', { class: 'meaning', role: 'status' });
  const warnings = h('div', { class: 'warnings' });

  if (offered !== null) counter.input.placeholder = String(offered);

  function show() {
    counter.put(state.counter);
    inclination.put(state.incl.text);
    const { value, error } = readInclination(state.incl);
    keys.show(value);
    const typed = state.incl.text.trim() !== '';
    refill(
      means,
      value
        ? [icon(inclinationIcon(value)), h('strong', null, meaning(value))]
        : (typed && error) || t('reading.prompt')
    );
    reset.show();
    const found = findings({
      counter_m: readNumber(field, state.counter).value,
      inclination: value,
      counter_reset: resetOf(state)
    });
    refill(
      warnings,
      ...found.map(({ code, words }) =>
        h(
          'p',
          { class: 'warning' },
          icon('alert'),
          h(
            'span',
            null,
            code === 'reading_out_of_order'
              ? button(t('reset.tell'), { tone: 'quiet', onclick: reset.tell })
              : null,
            words
          )
        )
      )
    );
  }

  return {
    elements: [summary, warnings, reset.help],
    // The windows stand with the keys that feed them: whatever else there is to say, they are never covered.
    keys: [
      h('div', { class: 'windows' }, counter.element, inclination.element),
      reset.element,
      means,
      ...keys.elements,
      pad.element
    ],
    show,
    focus: () => counter.input.focus(),
    /** @param {number} counterM */
    take(counterM) {
      state.counter = String(counterM);
      changed();
    },
    /** @param {ReadingDraft} to */
    reset(to) {
      Object.assign(state, structuredClone(to));
      show();
    },
    /** @returns {ReadingTyped | null} null when something is wrong, and then that is said */
    read() {
      const place = readNumber(field, state.counter);
      const { value, error } = readInclination(state.incl);
      const resetRead = reset.read();
      const placeWrong =
        place.error ?? (place.value === null ? t('form.needed_sentence', { label: field.label }) : '');
      const faults = [
        { control: { focus: () => counter.input.focus() }, sentence: placeWrong },
        {
          control: { focus: () => inclination.input.focus() },
          sentence: value ? '' : (error ?? t('incl.needed'))
        },
        ...resetRead.faults
      ].filter((one) => one.sentence);
      counter.element.classList.toggle('has-fault', Boolean(placeWrong));
      inclination.element.classList.toggle('has-fault', !value);
      showFaults(summary, faults);
      if (faults.length || place.value === null || !value) return null;
      return { counter_m: place.value, inclination: value, counter_reset: resetRead.value };
    }
  };
}

/**
 * What has been typed of a reset, for the findings; none while a part is missing.
 * @param {ReadingDraft} state
 */
function resetOf(state) {
  const [had, set] = [parseNumber(state.reset?.had ?? ''), parseNumber(state.reset?.set ?? '')];
  return had === null || set === null ? null : { had_shown_m: had, set_to_m: set };
}

/** Unit, sense and "beyond range". @param {ReadingDraft} state @param {() => void} changed */
function inclinationKeys(state, changed) {
  const unit = segments(t('incl.unit'), unitOptions(), (value) => {
    state.incl.unit = value;
    state.incl.over = false;
    changed();
  });
  const sense = segments(t('incl.sense'), senseOptions(), (value) => {
    state.incl.sense = value;
    if (value === 'level') state.incl.over = false;
    changed();
  });
  const turn = () => {
    state.incl.over = !state.incl.over;
    changed();
  };
  const beyond = h(
    'button',
    { type: 'button', class: 'segment beyond', 'aria-pressed': 'false', onclick: turn },
    icon('beyond'),
    t('incl.beyond')
  );
  return {
    elements: [
      h('div', { class: 'sense-row' }, sense.element, h('div', { class: 'segments' }, beyond)),
      unit.element
    ],
    /** @param {import('../records/types.js').Inclination | null} value */
    show(value) {
      unit.show(state.incl.over ? null : state.incl.unit);
      sense.show(value?.sense ?? state.incl.sense); // a typed sign or word outranks the key
      beyond.setAttribute('aria-pressed', String(state.incl.over));
    }
  };
}
