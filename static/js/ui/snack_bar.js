/** A short message at the bottom, with one thing that can still be done. It stays while it has the focus. */
import { h } from './elements.js';
import { icon } from './icons.js';
import { t } from '../text/en.js';

const SHOWN_MS = 10000;

/** @type {HTMLElement | null} */
let current = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;

/** @param {string} words @param {{label: string, act: () => void | Promise<void>} | null} [action] */
export function snack(words, action = null) {
  closeSnack();
  const bar = h(
    'div',
    { class: 'snack rise', role: 'group', 'aria-label': t('snack.group') },
    h('p', null, words),
    action ? h('button', { type: 'button', class: 'snack-act', onclick: () => run(action.act) }, icon('undo'), action.label) : null,
    h('button', { type: 'button', class: 'snack-close', 'aria-label': t('snack.close'), onclick: closeSnack }, icon('cross')),
  );
  document.body.append(bar);
  current = bar;
  wait();
}

/** @param {() => void | Promise<void>} act */
async function run(act) {
  closeSnack();
  await act();
}

function wait() {
  timer = setTimeout(() => (current?.contains(document.activeElement) ? wait() : closeSnack()), SHOWN_MS);
}

export function closeSnack() {
  clearTimeout(timer);
  current?.remove();
  current = null;
}
