/** A short message. With something that can still be done it stands above the keys and stays while it has the
 * focus; a plain one stands under the band, where it covers no key. */
import { h } from './elements.js';
import { icon } from './icons.js';
import { t } from '../text/words.js';

const SHOWN_MS = 10000;
const PLAIN_MS = 4000;

/** @type {HTMLElement | null} */
let current = null;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;

/**
 * @param {string} words
 * @param {{label: string, act: () => void | Promise<void>, icon?: string} | null} [action]
 */
export function snack(words, action = null) {
  closeSnack();
  if (!action) return plain(words);
  const bar = h(
    'div',
    { class: 'snack rise', role: 'group', 'aria-label': t('snack.group') },
    h('p', null, words),
    h(
      'button',
      { type: 'button', class: 'snack-act', onclick: () => run(action.act) },
      icon(action.icon ?? 'undo'),
      action.label
    ),
    h(
      'button',
      { type: 'button', class: 'snack-close', 'aria-label': t('snack.close'), onclick: closeSnack },
      icon('cross')
    )
  );
  document.body.append(bar);
  current = bar;
  wait();
  return undefined;
}

/** @param {string} words */
function plain(words) {
  navigator.vibrate?.(30);
  current = h('div', { class: 'snack snack-plain rise' }, icon('tick'), h('p', null, words));
  document.body.append(current);
  timer = setTimeout(closeSnack, PLAIN_MS);
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
