/** A run in plan, drawn: north is up, the same scale both ways, the search area at its end. */
import { fixedText } from '../text/survey_words.js';
import { h, s } from './elements.js';
import { ellipseOutline } from '../survey/plan/run_places.js';
import { niceStep } from './level_sketch.js';
import { t } from '../text/words.js';

/** @typedef {{e_m: number, n_m: number}} Local */
/** @typedef {(at: Local) => [number, number]} Map2 */
/**
 * @typedef {{points: import('../survey/plan/trace.js').Point[], start: string, end: string, north: string,
 *   alt: string, observations: Local[], phone: (Local & {radius_m: number}) | null, tie: Local | null}} Plan
 */

const WIDTH = 380;
const HEIGHT = 340;
const EDGE = 46;
const BAR_SHARE = 0.34;
const MIN_SPAN_M = 4;

/** @param {Plan} plan @returns {HTMLElement} */
export function planSketch(plan) {
  const last = plan.points[plan.points.length - 1];
  const area = ellipseOutline(
    last.ellipse.semi_major_m,
    last.ellipse.semi_minor_m,
    last.ellipse.azimuth_deg
  ).map(([e, n]) => ({ e_m: last.e_m + e, n_m: last.n_m + n }));
  const shown = [
    ...plan.points,
    ...area,
    ...(plan.phone ? [plan.phone] : []),
    ...(plan.tie ? [plan.tie] : [])
  ];
  const { at, pxPerM } = mapping(shown);
  return h(
    'div',
    { class: 'plan' },
    s(
      'svg',
      { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: 'img', 'aria-label': plan.alt },
      grid(at, pxPerM),
      s('path', { class: 'plan-ellipse', d: `M${area.map((one) => at(one).join(' ')).join(' L')} Z` }),
      plan.phone ? walkLine(at(plan.phone), at(last)) : null,
      s('path', { class: 'plan-line', d: route(plan.points, at) }),
      s('path', { class: 'plan-core', d: route(plan.points, at) }),
      ...plan.observations.map((one) => {
        const [x, y] = at(one);
        return s('circle', { class: 'plan-mark', cx: x, cy: y, r: 3.4 });
      }),
      ...plan.points.slice(1, -1).map((one) => {
        const [x, y] = at(one);
        return s('circle', { class: 'plan-bend', cx: x, cy: y, r: 5 });
      }),
      cross(at(last)),
      plan.tie ? tieRing(at(plan.tie)) : null,
      plan.phone ? phoneMark(at(plan.phone), plan.phone.radius_m * pxPerM) : null,
      startMark(at(plan.points[0])),
      label(at(plan.points[0]), plan.start, at(last)),
      label(at(last), plan.end, at(plan.points[0])),
      northArrow(plan.north),
      scaleBar(pxPerM)
    )
  );
}

/** @param {Local[]} shown @returns {{at: Map2, pxPerM: number}} */
function mapping(shown) {
  const [es, ns] = [shown.map((one) => one.e_m), shown.map((one) => one.n_m)];
  const [west, east, south, north] = [Math.min(...es), Math.max(...es), Math.min(...ns), Math.max(...ns)];
  const pxPerM = Math.min(
    (WIDTH - 2 * EDGE) / Math.max(east - west, MIN_SPAN_M),
    (HEIGHT - 2 * EDGE) / Math.max(north - south, MIN_SPAN_M)
  );
  const [midE, midN] = [(west + east) / 2, (south + north) / 2];
  return {
    pxPerM,
    at: ({ e_m: e, n_m: n }) => [
      round(WIDTH / 2 + (e - midE) * pxPerM),
      round(HEIGHT / 2 - (n - midN) * pxPerM)
    ]
  };
}

/** @param {import('../survey/plan/trace.js').Point[]} points @param {Map2} at */
function route(points, at) {
  return `M${points.map((one) => at(one).join(' ')).join(' L')}`;
}

/** Squares whose side is that of the scale bar. @param {Map2} at @param {number} pxPerM */
function grid(at, pxPerM) {
  const side = barM(pxPerM) * pxPerM;
  const [x0, y0] = at({ e_m: 0, n_m: 0 });
  const lines = [];
  for (let x = x0 - Math.floor(x0 / side) * side; x < WIDTH; x += side)
    lines.push(`M${round(x)} 0 V${HEIGHT}`);
  for (let y = y0 - Math.floor(y0 / side) * side; y < HEIGHT; y += side)
    lines.push(`M0 ${round(y)} H${WIDTH}`);
  return s('path', { class: 'plan-grid', d: lines.join(' ') });
}

/** @param {number} pxPerM */
function barM(pxPerM) {
  const widest = (WIDTH * BAR_SHARE) / pxPerM;
  const step = niceStep(widest / 2);
  return step <= widest ? step : step / 2;
}

/** @param {number} pxPerM */
function scaleBar(pxPerM) {
  const length = barM(pxPerM);
  const [x, y, px] = [14, HEIGHT - 14, length * pxPerM];
  const places = length >= 1 ? 0 : 1;
  return s(
    'g',
    null,
    s('rect', { class: 'plan-bar', x, y: y - 7, width: round(px), height: 7 }),
    s('rect', { class: 'plan-bar-full', x, y: y - 7, width: round(px / 2), height: 7 }),
    s('text', { class: 'plan-text plan-soft', x, y: y - 13 }, '0'),
    s(
      'text',
      { class: 'plan-text plan-soft', x: x + px, y: y - 13, 'text-anchor': 'middle' },
      t('unit.m', { size: fixedText(length, places) })
    )
  );
}

/** @param {string} words */
function northArrow(words) {
  return s(
    'g',
    { transform: `translate(${WIDTH - 34} 14)` },
    s('path', { class: 'plan-north', d: 'M0 0 L8 26 L0 20 L-8 26 Z' }),
    s('path', { class: 'plan-bar', d: 'M0 20 V42' }),
    s('text', { class: 'plan-text plan-soft', x: 0, y: 58, 'text-anchor': 'middle' }, words)
  );
}

/** @param {[number, number]} here @param {string} words @param {[number, number]} other */
function label([x, y], words, [, oy]) {
  const below = y >= oy;
  const anchor = x > WIDTH * 0.72 ? 'end' : x < WIDTH * 0.28 ? 'start' : 'middle';
  return s('text', { class: 'plan-text', x, y: below ? y + 26 : y - 16, 'text-anchor': anchor }, words);
}

/** @param {[number, number]} here */
function startMark([x, y]) {
  return s('circle', { class: 'plan-start', cx: x, cy: y, r: 8 });
}

/** @param {[number, number]} here */
function cross([x, y]) {
  return s('path', { class: 'plan-end', d: `M${x - 7} ${y - 7} l14 14 m0 -14 l-14 14` });
}

/** @param {[number, number]} here */
function tieRing([x, y]) {
  return s('path', { class: 'plan-tie', d: `M${x} ${y - 9} l9 9 -9 9 -9 -9 z` });
}

/** @param {[number, number]} here @param {number} radius */
function phoneMark([x, y], radius) {
  return s(
    'g',
    null,
    s('circle', { class: 'plan-phone-ring', cx: x, cy: y, r: round(Math.min(radius, 90)) }),
    s('circle', { class: 'plan-phone', cx: x, cy: y, r: 7 })
  );
}

/** @param {[number, number]} from @param {[number, number]} to */
function walkLine([x1, y1], [x2, y2]) {
  return s('line', { class: 'plan-walk', x1, y1, x2, y2 });
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}
