/** What a reading tells of a reset of the counter: what it had shown, and what it was set to. */
import { h } from '../ui/elements.js';
import { button } from '../ui/page.js';
import { numberControl } from './fields_plain.js';
import { t } from '../text/en.js';

/** @typedef {{had: string, set: string}} ResetDraft as typed */
/** @typedef {{control: {focus: () => void}, sentence: string}} Fault */

/** @param {any} value a stored reset @returns {ResetDraft | null} */
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
  const part = (/** @type {string} */ name, /** @type {string} */ label) => numberControl(
    { ...field, name, label, help: undefined, required: false }, () => { store(); changed(); });
  const [had, set] = [part('had_shown_m', t('reset.had_shown')), part('set_to_m', t('reset.set_to'))];
  const store = () => { state.reset = { had: had.raw(), set: set.raw() }; };
  const none = button(t('reset.not'), { tone: 'quiet', onclick: () => { state.reset = null; changed(); } });
  const element = h(
    'div', { class: 'counter-reset', role: 'group', 'aria-label': t('reset.title'), tabindex: '-1', hidden: true },
    h('strong', null, t('reset.title')), h('div', { class: 'reset-pair' }, had.element, set.element),
    h('p', { class: 'field-help' }, t('reset.help')), none,
  );

  return {
    element,
    /** One tap: it had shown what the reading before says, and was set to nothing. */
    tell() {
      const beforeM = before();
      state.reset = { had: beforeM === null ? '' : String(beforeM), set: '0' };
      changed();
      element.focus(); // not a window: what is filled in mostly stands, and no keyboard need come up
      element.scrollIntoView({ block: 'start' });
    },
    show() {
      element.hidden = !state.reset;
      if (!state.reset) return;
      if (had.raw() !== state.reset.had) had.setRaw(state.reset.had);
      if (set.raw() !== state.reset.set) set.setRaw(state.reset.set);
    },
    /** @returns {{value: any, faults: Fault[]}} */
    read() {
      if (!state.reset) return { value: null, faults: [] };
      /** @type {Fault[]} */
      const faults = [];
      const found = [had, set].map((control) => {
        const { value, error } = control.read();
        const sentence = error ?? (value === null ? t('form.needed_sentence', { label: control === had ? t('reset.had_shown') : t('reset.set_to') }) : '');
        control.fault(sentence);
        if (sentence) faults.push({ control, sentence });
        return value;
      });
      return { value: faults.length ? null : { had_shown_m: found[0], set_to_m: found[1] }, faults };
    },
  };
}
