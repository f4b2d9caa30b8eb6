/**
 * Where it is: the counter's window, keys that go on or back a step, and a word for where the number came
 * from.
 */
import { h } from '../ui/elements.js';
import { padWindow } from '../ui/number_pad.js';
import { keepUnits, metres } from '../ui/format.js';
import { readNumber } from './fields/checks.js';
import { offeredCounter } from '../survey/instruments/counter_offer.js';
import { t } from '../text/words.js';

/** @typedef {import('../ui/types.js').JobView} JobView */

/**
 * @typedef {{counter_m: number, whence: string, words: string}} Offered a place, where it is from in a word,
 *   and in words
 */

const STEPS_M = [-0.1, 0.1, 1];
/** @type {import('../records/types.js').KindOfRun[]} */
const KINDS = ['reading', 'observation', 'stretch', 'remark', 'photo'];

/**
 * The counter that a new record of a run offers, as `offeredCounter`.
 * @param {JobView} view @param {import('../records/types.js').RunRecord} run @returns {Offered | null}
 */
export function offeredPlace(view, run) {
  const mine = (/** @type {import('../records/types.js').KindOfRun} */ kind) => view.ofRun(kind, run.id);
  const offer = offeredCounter(run.fields, {
    reading: [],
    ...Object.fromEntries(KINDS.map((kind) => [kind, mine(kind)]))
  });
  if (!offer) return null;
  if (offer.last_m !== null) {
    const m = metres(offer.last_m);
    return {
      counter_m: offer.counter_m,
      whence: keepUnits(t('place.key_farthest', { m })),
      words: t('place.farthest', { m })
    };
  }
  const whence = t(`place.at_${offer.whence}`);
  return { counter_m: offer.counter_m, whence, words: whence };
}

/** @param {import('../ui/types.js').Field} field @param {() => void} changed */
export function counterPlace(field, changed) {
  const window = padWindow({ label: t('pad.counter'), unit: 'm', name: 'counter', oninput: () => typed() });
  const { input } = window;
  const how = h('p', { class: 'field-help place-how', role: 'status' });
  const steps = STEPS_M.map((stepM) => {
    const key = stepM < 0 ? 'place.back' : 'place.on';
    return h(
      'button',
      {
        type: 'button',
        class: 'step-key',
        'aria-label': t(key, { m: Math.abs(stepM) }),
        onclick: () => step(stepM)
      },
      `${stepM < 0 ? '−' : '+'}${Math.abs(stepM)}`
    );
  });
  const element = h(
    'div',
    { class: 'counter-place' },
    window.element,
    h('div', null, h('div', { class: 'step-keys' }, ...steps), how)
  );
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
    element,
    input,
    window,
    read: () => readNumber(field, input.value),
    /**
     * @param {number | null | undefined} counterM
     * @param {string | null} whence where it is from, in words
     */
    fill(counterM, whence) {
      input.value = typeof counterM === 'number' ? String(counterM) : '';
      how.textContent = whence ?? '';
    },
    /** @param {string} text */
    setRaw(text) {
      if (text !== input.value) how.textContent = '';
      input.value = text;
    },
    /** @param {boolean} bad */
    mark(bad) {
      window.element.classList.toggle('has-fault', bad);
    }
  };
}
