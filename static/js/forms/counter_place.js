/** Where it is: the counter's window, keys that go on or back a step, and a word for where the number came from. */
import { h } from '../ui/elements.js';
import { padWindow } from '../ui/number_pad.js';
import { readNumber } from './checks.js';
import { t } from '../text/en.js';

/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {'place.at_reading' | 'place.at_observation' | 'place.at_zero'} Whence */

const STEPS_M = [-0.1, 0.1, 1];

/**
 * The place of what was recorded last in a run; where nothing was, the counter at chainage zero.
 * @param {SurveyRecord} run @param {SurveyRecord[]} readings @param {SurveyRecord[]} observations
 * @returns {{counter_m: number, whence: Whence} | null}
 */
export function lastPlace(run, readings, observations) {
  const placed = (/** @type {SurveyRecord[]} */ some) => some.filter((one) => typeof one.fields.counter_m === 'number').at(-1);
  const [reading, seen] = [placed(readings), placed(observations)];
  if (reading && (!seen || reading.id > seen.id)) return { counter_m: reading.fields.counter_m, whence: 'place.at_reading' };
  if (seen) return { counter_m: seen.fields.counter_m, whence: 'place.at_observation' };
  const zeroM = run.fields.counter_zero_m;
  return typeof zeroM === 'number' ? { counter_m: zeroM, whence: 'place.at_zero' } : null;
}

/** @param {import('../ui/types.js').Field} field @param {() => void} changed */
export function counterPlace(field, changed) {
  const window = padWindow({ label: t('pad.counter'), unit: 'm', name: 'counter', oninput: () => typed() });
  const { input } = window;
  const how = h('p', { class: 'field-help place-how', role: 'status' });
  const steps = STEPS_M.map((stepM) => {
    const key = stepM < 0 ? 'place.back' : 'place.on';
    return h('button', {
      type: 'button', class: 'step-key', 'aria-label': t(key, { m: Math.abs(stepM) }), onclick: () => step(stepM),
    }, `${stepM < 0 ? '−' : '+'}${Math.abs(stepM)}`);
  });
  const element = h('div', { class: 'counter-place' }, window.element, h('div', null, h('div', { class: 'step-keys' }, ...steps), how));
  // Typing replaces what was put in; the caret of a second tap is the person's own.
  input.addEventListener('focus', () => setTimeout(() => input.select(), 0));

  function typed() {
    how.textContent = t('place.own');
    changed();
  }
  /** @param {number} stepM */
  function step(stepM) {
    const from = readNumber(field, input.value).value ?? 0;
    input.value = String(Math.max(0, Math.round((from + stepM) * 100) / 100));
    typed();
  }
  return {
    element, input, window,
    read: () => readNumber(field, input.value),
    /** @param {number | null | undefined} counterM @param {Whence | null} whence */
    fill(counterM, whence) {
      input.value = typeof counterM === 'number' ? String(counterM) : '';
      how.textContent = whence ? t(whence) : '';
    },
    /** @param {string} text */
    setRaw(text) {
      if (text !== input.value) how.textContent = '';
      input.value = text;
    },
    /** @param {boolean} bad */
    mark(bad) { window.element.classList.toggle('has-fault', bad); },
  };
}
