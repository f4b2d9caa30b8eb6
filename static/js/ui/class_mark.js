/** A condition class by numeral, rungs and shade of one hue; its word stands beside it. */
import { h, s } from './elements.js';

const RUNGS = [1, 2, 3, 4, 5];

/**
 * @param {number} low
 * @param {number} high
 * @param {string} words said to a screen reader
 * @param {string} [letter] of the goal
 * @param {boolean} [blind] whether part of it could not be seen
 */
export function classMark(low, high, words, letter = '', blind = false) {
  const numeral = high === 0 ? (blind ? '?' : '–') : low === high ? String(high) : `${low}–${high}`;
  return h(
    'span',
    { class: `class-mark class-${high}${low === high ? '' : ' class-open'}` },
    h('span', { class: 'unseen' }, words),
    h(
      'span',
      { class: 'class-face', 'aria-hidden': 'true' },
      letter ? h('span', { class: 'class-letter' }, letter) : null,
      rungs(low, high),
      h('span', { class: 'class-numeral' }, numeral)
    )
  );
}

/**
 * Five rungs, each higher than the one before: filled up to the class, outlined as far as it may go.
 * @param {number} low
 * @param {number} high
 */
function rungs(low, high) {
  return s(
    'svg',
    { viewBox: '0 0 22 16', class: 'class-rungs' },
    ...RUNGS.map((n) =>
      s('rect', {
        x: 1 + 4.2 * (n - 1),
        y: 14 - 2.4 * n,
        width: 3,
        height: 1 + 2.4 * n,
        class: n <= low ? 'rung-full' : n <= high ? 'rung-may' : 'rung-none'
      })
    )
  );
}
