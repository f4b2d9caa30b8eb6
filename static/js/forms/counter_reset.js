/** What a reading tells of a reset of the counter: what it had shown, and what it was set to. */
import { h } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { padWindow } from '../ui/number_pad.js';
import { readNumber } from './fields/checks.js';
import { t } from '../text/words.js';

/** @typedef {import('../records/types.js').CounterReset} CounterReset */
/** @typedef {{had: string, set: string}} ResetDraft as typed */
/** @typedef {{control: {focus: () => void}, sentence: string}} Fault */

/** @param {CounterReset | null | undefined} value a stored reset @returns {ResetDraft | null} */
export function resetDraft(value) {
  return value ? { had: String(value.had_shown_m), set: String(value.set_to_m) } : null;
}

/**
 * @param {object} about
 * @param {import('../ui/types.js').Field} about.field of the counter; a reset takes what the counter takes
 * @param {{reset?: ResetDraft | null}} about.state
 * @param {() => number | null} about.before what the counter showed at the reading before this one
 * @param {() => void} about.changed
 */
export function counterReset({ field, state, before, changed }) {
  const part = (/** @type {string} */ name, /** @type {string} */ label) => {
    const window = padWindow({
      label,
      unit: 'm',
      name,
      oninput: () => {
        store();
        changed();
      }
    });
    return {
      ...window,
      focus: () => window.input.focus(),
      read: () => readNumber({ ...field, label }, window.input.value)
    };
  };
  const [had, set] = [part('had_shown_m', t('reset.had_shown')), part('set_to_m', t('reset.set_to'))];
  const store = () => {
    state.reset = { had: had.input.value, set: set.input.value };
  };
  const none = h(
    'button',
    {
      type: 'button',
      class: 'window-cross',
      'aria-label': t('reset.not'),
      title: t('reset.not'),
      onclick: () => {
        state.reset = null;
        changed();
      }
    },
    icon('cross')
  );
  const element = h(
    'div',
    {
      class: 'windows reset-windows',
      role: 'group',
      'aria-label': t('reset.title'),
      tabindex: '-1',
      hidden: true
    },
    had.element,
    set.element,
    none
  );
  const help = h(
    'p',
    { class: 'small soft', hidden: true },
    h('strong', null, t('reset.title')),
    ' ',
    t('reset.help')
  );

  return {
    element,
    help,
    windows: [had, set],
    /** One tap: it had shown what the reading before says, and was set to nothing. */
    tell() {
      const beforeM = before();
      state.reset = { had: beforeM === null ? '' : String(beforeM), set: '0' };
      changed();
      element.focus(); // not a window: what is filled in mostly stands
    },
    show() {
      element.hidden = help.hidden = !state.reset;
      if (!state.reset) return;
      had.put(state.reset.had);
      set.put(state.reset.set);
    },
    /** @returns {{value: CounterReset | null, faults: Fault[]}} */
    read() {
      if (!state.reset) return { value: null, faults: [] };
      /** @type {Fault[]} */
      const faults = [];
      const found = [had, set].map((control) => {
        const { value, error } = control.read();
        const sentence =
          error ??
          (value === null
            ? t('form.needed_sentence', { label: control === had ? t('reset.had_shown') : t('reset.set_to') })
            : '');
        control.element.classList.toggle('has-fault', sentence !== '');
        if (sentence) faults.push({ control, sentence });
        return value;
      });
      const [hadShown, setTo] = /** @type {number[]} */ (found); // none is missing where nothing is at fault
      return { value: faults.length ? null : { had_shown_m: hadShown, set_to_m: setTo }, faults };
    }
  };
}
