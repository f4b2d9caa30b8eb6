/** The levels of a run so far, drawn. What is only bounded is hatched, never a line of its own. */
import { h, s } from './elements.js';
import { metres } from './format.js';
import { t } from '../text/en.js';

/** @typedef {import('../survey/profile.js').Station} Station */

const WIDTH = 380;
const HEIGHT = 210;
const LEFT = 76;
const RIGHT = 14;
const TOP = 24;
const BOTTOM = 36;

/**
 * @param {Station[]} stations @param {{observations: number[], ties: number[]}} marks chainages
 * @returns {HTMLElement | null}
 */
export function levelSketch(stations, marks) {
  if (stations.length < 2) return null;
  const endM = Math.max(stations[stations.length - 1].chainage_m, 0.001);
  const shown = stations.map(clampFor(stations));
  const low = Math.min(...shown.map((one) => one.low));
  const high = Math.max(...shown.map((one) => one.high));
  const span = Math.max(high - low, 0.05);
  const x = (/** @type {number} */ m) => LEFT + (m / endM) * (WIDTH - LEFT - RIGHT);
  const y = (/** @type {number} */ m) => TOP + ((high - m) / span) * (HEIGHT - TOP - BOTTOM);
  const known = t('sketch.alt', { m: metres(endM), fall: fallWords(stations) });
  return h(
    'div', { class: 'sketch' },
    s('svg', { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: 'img', 'aria-label': known },
      hatch(), grid(x, y, endM, low, high), bounds(shown, x, y), lines(shown, x, y),
      ...marks.observations.map((m) => s('path', { class: 'sketch-mark', d: `M${x(clip(m, endM))} ${HEIGHT - BOTTOM - 2} l5 -9 h-10 z` })),
      ...marks.ties.map((m) => s('path', { class: 'sketch-tie', d: `M${x(clip(m, endM))} ${TOP - 14} l7 11 h-14 z` })),
      ...shown.filter((one) => one.known !== 'bounded').map((one) => s('circle', { class: 'sketch-dot', cx: x(one.chainage_m), cy: y(one.low), r: 2.8 })),
    ),
  );
}

/** The far bound of a reading beyond the range is a vertical pipe, which would flatten the drawing.
 * @param {Station[]} stations */
function clampFor(stations) {
  const sure = stations.flatMap((one) => (one.known === 'bounded' ? [] : [one.low_m]));
  const near = stations.map((one) => nearBound(one));
  const least = Math.min(0, ...sure, ...near);
  const most = Math.max(0, ...sure, ...near);
  const room = Math.max(0.25, (most - least) * 0.35);
  return (/** @type {Station} */ one) => ({
    ...one, low: Math.max(one.low_m, least - room), high: Math.min(one.high_m, most + room),
  });
}

/** @param {Station} one */
export function nearBound(one) {
  return Math.abs(one.low_m) < Math.abs(one.high_m) ? one.low_m : one.high_m;
}

/** @param {number} m @param {number} endM */
function clip(m, endM) {
  return Math.min(Math.max(m, 0), endM);
}

function hatch() {
  return s('defs', null, s('pattern', { id: 'hatch', width: 9, height: 9, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' },
    s('line', { class: 'sketch-hatch', x1: 0, y1: 0, x2: 0, y2: 9 })));
}

/** @param {(m: number) => number} x @param {(m: number) => number} y @param {number} endM @param {number} low @param {number} high */
function grid(x, y, endM, low, high) {
  const bottom = HEIGHT - BOTTOM;
  const levels = [high, (high + low) / 2, low];
  return s(
    'g', null,
    ...levels.map((m) => s('line', { class: 'sketch-grid', x1: LEFT, x2: WIDTH - RIGHT, y1: y(m), y2: y(m) })),
    ...levels.map((m) => s('text', { class: 'sketch-text', x: LEFT - 8, y: y(m) + 5, 'text-anchor': 'end' }, signed(m))),
    s('line', { class: 'sketch-grid', x1: LEFT, x2: WIDTH - RIGHT, y1: bottom, y2: bottom }),
    ...[0, 0.25, 0.5, 0.75, 1].map((part) => s('line', { class: 'sketch-grid', x1: x(part * endM), x2: x(part * endM), y1: bottom, y2: bottom + 7 })),
    s('text', { class: 'sketch-text', x: LEFT, y: HEIGHT - 10 }, '0 m'),
    s('text', { class: 'sketch-text', x: WIDTH - RIGHT, y: HEIGHT - 10, 'text-anchor': 'end' }, metres(endM)),
  );
}

/** @param {number} m */
function signed(m) {
  return `${m > 0 ? '+' : m < 0 ? '−' : ''}${Math.abs(m).toFixed(2)} m`;
}

/** @param {Array<any>} shown @param {(m: number) => number} x @param {(m: number) => number} y */
function bounds(shown, x, y) {
  const from = shown.findIndex((one) => one.known === 'bounded');
  if (from < 1) return null;
  const part = shown.slice(from - 1);
  const upper = part.map((one) => `${x(one.chainage_m)} ${y(one.high)}`);
  const lower = part.map((one) => `${x(one.chainage_m)} ${y(one.low)}`).reverse();
  const near = part.map((one) => `${x(one.chainage_m)} ${y(Math.abs(one.low_m) < Math.abs(one.high_m) ? one.low : one.high)}`);
  const middle = part[part.length - 1];
  return s(
    'g', null,
    s('path', { d: `M${upper.join(' L')} L${lower.join(' L')} Z`, fill: 'url(#hatch)' }),
    s('path', { class: 'sketch-limit', d: `M${near.join(' L')}` }),
    s('text', { class: 'sketch-text', x: Math.min(x(middle.chainage_m), WIDTH - RIGHT - 4), y: TOP - 6, 'text-anchor': 'end' }, t('sketch.at_least')),
  );
}

/** @param {Array<any>} shown @param {(m: number) => number} x @param {(m: number) => number} y */
function lines(shown, x, y) {
  const paths = [];
  for (let i = 1; i < shown.length; i += 1) {
    if (shown[i].known === 'bounded') break;
    const assumed = shown[i].known === 'assumed' || (i === 1 && shown[0].known === 'assumed');
    paths.push(s('path', {
      class: `sketch-line ${assumed ? 'sketch-assumed' : ''}`,
      d: `M${x(shown[i - 1].chainage_m)} ${y(shown[i - 1].low)} L${x(shown[i].chainage_m)} ${y(shown[i].low)}`,
    }));
  }
  return s('g', null, ...paths);
}

/** "0.52 m lower (computed)", "at least 0.52 m lower (bounded)". @param {Station[]} stations @returns {string} */
export function fallWords(stations) {
  const last = stations[stations.length - 1];
  if (!last || stations.length < 2) return t('sketch.unknown');
  if (last.known !== 'bounded') return t(last.low_m <= 0 ? 'sketch.lower' : 'sketch.higher', { m: metres(Math.abs(last.low_m), 3), known: knownWords(last.known) });
  if (last.high_m < 0) return t('sketch.at_least_lower', { m: metres(-last.high_m, 3) });
  if (last.low_m > 0) return t('sketch.at_least_higher', { m: metres(last.low_m, 3) });
  return t('sketch.between', { a: metres(last.low_m, 2), b: metres(last.high_m, 2) });
}

/** @param {string} known @returns {string} */
export function knownWords(known) {
  return t(/** @type {any} */ (`known.${known}`));
}

/** @param {Station} one @returns {string} a level against the start, bounded where it is only bounded */
export function levelWords(one) {
  if (one.known !== 'bounded') return signed(one.low_m);
  if (one.high_m < 0) return t('sketch.at_most_level', { m: signed(one.high_m) });
  if (one.low_m > 0) return t('sketch.at_least_level', { m: signed(one.low_m) });
  return t('sketch.level_between', { a: signed(one.low_m), b: signed(one.high_m) });
}
