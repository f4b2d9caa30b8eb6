/** The number pad: big keys that feed the window that is active. Typing into the windows works as well. */
import { h } from './elements.js';
import { icon } from './icons.js';
import { t } from '../text/words.js';

/** What stands in a window of the dock in large digits; more takes smaller ones. */
const FEW_CHARACTERS = 5;

/**
 * A window: a labelled input that the pad feeds. Its own soft keyboard stays away until asked for.
 * @param {{label: string, unit?: string, name: string, oninput: () => void}} how
 */
export function padWindow({ label, unit = '', name, oninput }) {
  const input = h('input', {
    type: 'text',
    inputmode: 'none',
    autocomplete: 'off',
    name,
    'aria-label': label,
    oninput,
    enterkeyhint: 'done'
  });
  const unitPlace = h('span', { class: 'window-unit', 'aria-hidden': 'true' }, unit);
  const element = h(
    'div',
    { class: 'window', onclick: () => input.focus() },
    h('span', { class: 'window-label', 'aria-hidden': 'true' }, label),
    h('span', { class: 'window-line' }, input, unit ? unitPlace : null)
  );
  const fit = () => element.classList.toggle('long', input.value.length > FEW_CHARACTERS);
  input.addEventListener('input', fit);
  /** @param {string} text */
  const put = (text) => {
    if (input.value !== text) input.value = text;
    fit();
  };
  return {
    element,
    input,
    put,
    setUnit: (/** @type {string} */ wanted) => {
      unitPlace.textContent = wanted;
    }
  };
}

/**
 * @param {Array<{element: HTMLElement, input: HTMLInputElement}>} windows those that stand hidden are passed
 *   over
 */
export function numberPad(windows) {
  let active = windows[0];
  const activate = (/** @type {typeof active} */ one) => {
    active = one;
    for (const each of windows) each.element.classList.toggle('active', each === one);
  };
  for (const one of windows) one.input.addEventListener('focus', () => activate(one));

  /** @param {(text: string) => string} change */
  const edit = (change) => {
    const { input } = active;
    if (input.disabled) return;
    const [from, to] = [input.selectionStart ?? input.value.length, input.selectionEnd ?? input.value.length];
    const whole = from !== to;
    input.value = whole ? change('') : change(input.value);
    input.dispatchEvent(new Event('input', { bubbles: true }));
  };
  const keyboard = () => {
    const { input } = active;
    input.inputMode = input.inputMode === 'none' ? 'text' : 'none';
    input.blur();
    input.focus();
  };
  const next = () => {
    const shown = windows.filter((one) => !one.element.closest('[hidden]'));
    const other = shown[(shown.indexOf(active) + 1) % shown.length];
    other.input.focus();
    other.input.select();
  };
  const digit = (/** @type {string} */ key) => padKey(key, key, () => edit((text) => text + key));
  const point = padKey('.', t('pad.point'), () =>
    edit((text) => (/[.,]/.test(text) ? text : `${text || '0'}.`))
  );
  const backspace = padKey(icon('backspace'), t('pad.backspace'), () => edit((text) => text.slice(0, -1)));
  const clear = padKey(t('pad.clear'), t('pad.clear'), () => edit(() => ''), 'tool');
  const type = padKey(icon('keyboard'), t('pad.keyboard'), keyboard, 'tool');
  const other = windows.length > 1 ? padKey(t('pad.next'), t('pad.next_label'), next, 'tool') : null;
  const pad = h(
    'div',
    { class: 'pad', role: 'group', 'aria-label': t('pad.name') },
    digit('7'),
    digit('8'),
    digit('9'),
    backspace,
    digit('4'),
    digit('5'),
    digit('6'),
    clear,
    digit('1'),
    digit('2'),
    digit('3'),
    type,
    point,
    digit('0'),
    padKey('00', '00', () => edit((text) => `${text}00`)),
    other ?? padKey(t('pad.done'), t('pad.done'), () => active.input.blur(), 'tool')
  );
  activate(active);
  return { element: pad, activate };
}

/** @param {Node | string} face @param {string} name @param {() => void} pressed @param {string} [extra] */
function padKey(face, name, pressed, extra = '') {
  return h(
    'button',
    {
      type: 'button',
      class: `pad-key ${extra}`,
      'aria-label': name,
      // The window keeps the focus, so that the caret and the screen reader stay where they are.
      onpointerdown: (/** @type {Event} */ event) => event.preventDefault(),
      onclick: () => {
        navigator.vibrate?.(8);
        pressed();
      }
    },
    face
  );
}
