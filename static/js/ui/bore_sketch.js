/** The bore in section, small: wall, deposit in the invert, water of the flow tried. */
import { h, s } from './elements.js';
import { outline } from '../survey/section/shape.js';

/** @typedef {import('../survey/section/bore.js').Bore} Bore */

const SIZE = 100;
const EDGE = 6;
const STEPS = 32;

/**
 * @param {Bore | null} bore
 * @param {number | null} waterM depth of the water from the invert
 * @param {string} alt
 */
export function boreSketch(bore, waterM, alt) {
  if (!bore) {
    return h(
      'div',
      { class: 'bore' },
      s(
        'svg',
        { viewBox: `0 0 ${SIZE} ${SIZE}`, role: 'img', 'aria-label': alt },
        s('circle', { class: 'bore-none', cx: SIZE / 2, cy: SIZE / 2, r: SIZE / 2 - EDGE })
      )
    );
  }
  const corners = outline(bore, STEPS);
  const wide = Math.max(...corners.map(([x]) => x)) * 2;
  const scale = (SIZE - 2 * EDGE) / Math.max(wide, bore.height_m);
  const put = (/** @type {[number, number]} */ [x, z]) =>
    `${round(SIZE / 2 + x * scale)} ${round(SIZE / 2 + (bore.height_m / 2 - z) * scale)}`;
  const shape = (/** @type {[number, number][]} */ list) => `M${list.map(put).join(' L')} Z`;
  const deposit = bore.deposit_m ?? 0;
  return h(
    'div',
    { class: 'bore' },
    s(
      'svg',
      { viewBox: `0 0 ${SIZE} ${SIZE}`, role: 'img', 'aria-label': alt },
      s('path', { class: 'bore-wall', d: shape(corners) }),
      waterM !== null && waterM > deposit
        ? s('path', { class: 'bore-water', d: shape(below(corners, waterM)) })
        : null,
      deposit > 0 ? s('path', { class: 'bore-deposit', d: shape(below(corners, deposit)) }) : null,
      s('path', { class: 'bore-wall bore-line-only', d: shape(corners) })
    )
  );
}

/** The part of an outline below a level: the outline goes up on the right and down on the left.
 * @param {[number, number][]} corners @param {number} level @returns {[number, number][]} */
function below(corners, level) {
  /** @type {[number, number][]} */
  const kept = [];
  corners.forEach((here, i) => {
    const before = corners[i - 1];
    if (before && (before[1] - level) * (here[1] - level) < 0) {
      const share = (level - before[1]) / (here[1] - before[1]);
      kept.push([before[0] + share * (here[0] - before[0]), level]);
    }
    if (here[1] <= level) kept.push(here);
  });
  return kept;
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}
