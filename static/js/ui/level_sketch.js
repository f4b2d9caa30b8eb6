/**
 * The levels of a run, drawn: a line with its 95 % band; what is only bounded is hatched, never a line of its
 * own.
 */
import { fixedSignedText, fixedText } from '../text/survey_words.js';
import { h, s } from './elements.js';
import { band95 } from '../survey/levels/band.js';
import { t, words } from '../text/words.js';
import { numberText } from '../survey/wording/messages.js';

/** @typedef {import('../survey/levels/levels.js').LevelProfile} LevelProfile */
/** @typedef {import('../survey/levels/levels.js').LevelStation} LevelStation */
/** @typedef {{x: (m: number) => number, y: (m: number) => number}} Axes */
/** @typedef {LevelStation & {bottom: number, top: number, near: number, sure: boolean}} Drawn */
/**
 * @typedef {{senses: string[], observations: number[], ties: Array<{chainage_m: number, level_m: number}>,
 *   sags: Array<{from_m: number, to_m: number, surface_m: number}>, flow: string, absolute: boolean, alt:
 *   string}} Marks
 */

const WIDTH = 380;
const HEIGHT = 224;
const LEFT = 70;
const RIGHT = 16;
const TOP = 26;
const BOTTOM = 40;
const STEPS = [1, 2, 5, 10];
const MAX_DOTS = 36;

/** @param {LevelProfile} profile @param {Marks} marks @returns {HTMLElement | null} */
export function levelSketch(profile, marks) {
  const { stations } = profile;
  if (stations.length < 2) return null;
  const drawn = clamped(profile, marks.senses);
  const endM = Math.max(stations[stations.length - 1].chainage_m, 0.001);
  const tied = marks.ties.map((one) => one.level_m);
  const low = Math.min(...drawn.map((one) => one.bottom), ...tied);
  const high = Math.max(...drawn.map((one) => one.top), ...tied);
  const span = Math.max(high - low, 0.05);
  const axes = {
    x: (/** @type {number} */ m) => round(LEFT + (m / endM) * (WIDTH - LEFT - RIGHT)),
    y: (/** @type {number} */ m) => round(TOP + ((high - m) / span) * (HEIGHT - TOP - BOTTOM))
  };
  return h(
    'div',
    { class: 'sketch' },
    s(
      'svg',
      { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: 'img', 'aria-label': marks.alt },
      hatch(),
      heights(axes, high - span, high, marks.absolute),
      distances(axes, endM),
      ...marks.sags.map((sag) => pond(sag, drawn, axes)),
      ...stretchesOf(drawn).map((part) =>
        part.sure ? sureBand(part.stations, axes) : bounds(part.stations, axes)
      ),
      ...lines(drawn, axes),
      ...dots(drawn, axes),
      ...marks.ties.map((one) => tieMark(axes.x(clip(one.chainage_m, endM)), axes.y(one.level_m))),
      ...marks.observations.map((m) =>
        s('path', {
          class: 'sketch-mark',
          d: `M${axes.x(clip(m, endM))} ${HEIGHT - BOTTOM - 1} l4.5 -8 h-9 z`
        })
      ),
      flowArrow(marks.flow),
      drawn.some((one) => !one.sure)
        ? s(
            'text',
            { class: 'sketch-text', x: WIDTH - RIGHT, y: 16, 'text-anchor': 'end' },
            t('sketch.at_least')
          )
        : null
    )
  );
}

/** The far bound of a length beyond the range is an upright pipe, which would flatten the drawing.
 * @param {LevelProfile} profile @param {string[]} senses @returns {Drawn[]} */
function clamped(profile, senses) {
  const { stations } = profile;
  const bands = stations.map((one) => band95(one) ?? [one.prior_level_m, one.prior_level_m]);
  const nears = stations.map((one, k) => one.level_m ?? saying(one, senses[k]));
  const certain = stations.flatMap((one, k) => (one.level_m === null ? [nears[k]] : bands[k]));
  const [least, most] = [smallest(certain), -smallest(certain.map((m) => -m))];
  const room = Math.max(0.25, (most - least) * 0.35);
  return stations.map((one, k) => ({
    ...one,
    near: nears[k],
    sure: one.level_m !== null,
    bottom: Math.max(bands[k][0], least - room),
    top: Math.min(bands[k][1], most + room)
  }));
}

/**
 * Of a bounded level the bound that says something.
 * @param {LevelStation} one
 * @param {string} sense
 * @returns {number}
 */
function saying(one, sense) {
  const [low, high] = [one.low_m ?? one.prior_level_m, one.high_m ?? one.prior_level_m];
  return sense === 'at_least' ? low : sense === 'at_most' ? high : (low + high) / 2;
}

/** @param {number[]} values */
function smallest(values) {
  return values.reduce((least, one) => (one < least ? one : least), Infinity);
}

/** Parts of the run whose levels are all known, or that hold a bounded one. @param {Drawn[]} drawn */
function stretchesOf(drawn) {
  /** @type {Array<{sure: boolean, stations: Drawn[]}>} */
  const parts = [];
  for (let k = 1; k < drawn.length; k += 1) {
    const sure = drawn[k - 1].sure && drawn[k].sure;
    const last = parts[parts.length - 1];
    if (last && last.sure === sure) last.stations.push(drawn[k]);
    else parts.push({ sure, stations: [drawn[k - 1], drawn[k]] });
  }
  return parts;
}

/** @param {Drawn[]} part @param {Axes} axes @returns {string} */
function outline(part, { x, y }) {
  const upper = part.map((one) => `${x(one.chainage_m)} ${y(one.top)}`);
  const lower = part.map((one) => `${x(one.chainage_m)} ${y(one.bottom)}`).reverse();
  return `M${upper.join(' L')} L${lower.join(' L')} Z`;
}

/** @param {Drawn[]} part @param {Axes} axes */
function sureBand(part, axes) {
  return s('path', { class: 'sketch-band', d: outline(part, axes) });
}

/** @param {Drawn[]} part @param {Axes} axes */
function bounds(part, axes) {
  const near = part.map((one) => `${axes.x(one.chainage_m)} ${axes.y(one.near)}`);
  return s(
    'g',
    null,
    s('path', { d: outline(part, axes), fill: 'url(#hatch)' }),
    s('path', { class: 'sketch-limit', d: `M${near.join(' L')}` })
  );
}

/** One path for each run of like knowledge. @param {Drawn[]} drawn @param {Axes} axes */
function lines(drawn, { x, y }) {
  /** @type {Array<{assumed: boolean, d: string[]}>} */
  const paths = [];
  for (let k = 1; k < drawn.length; k += 1) {
    const [from, to] = [drawn[k - 1], drawn[k]];
    if (from.level_m === null || to.level_m === null) continue;
    const assumed = to.known === 'assumed';
    const start = `${x(from.chainage_m)} ${y(from.level_m)}`;
    const last = paths[paths.length - 1];
    if (last && last.assumed === assumed && last.d[last.d.length - 1] === start)
      last.d.push(`${x(to.chainage_m)} ${y(to.level_m)}`);
    else paths.push({ assumed, d: [start, `${x(to.chainage_m)} ${y(to.level_m)}`] });
  }
  return paths.map((one) =>
    s('path', { class: `sketch-line ${one.assumed ? 'sketch-assumed' : ''}`, d: `M${one.d.join(' L')}` })
  );
}

/**
 * Where the stations lie, unless they lie so near together that they hide the line.
 * @param {Drawn[]} drawn
 * @param {Axes} axes
 */
function dots(drawn, { x, y }) {
  if (drawn.length > MAX_DOTS) return [];
  return drawn.flatMap((one) =>
    one.level_m === null
      ? []
      : [s('circle', { class: 'sketch-dot', cx: x(one.chainage_m), cy: y(one.level_m), r: 2.1 })]
  );
}

/**
 * Standing water: between its surface and the invert.
 * @param {Marks['sags'][number]} sag
 * @param {Drawn[]} drawn
 * @param {Axes} axes
 */
function pond(sag, drawn, { x, y }) {
  const bed = [];
  for (let k = firstBeyond(drawn, sag.from_m); k < drawn.length && drawn[k].chainage_m < sag.to_m; k += 1) {
    if (drawn[k].level_m !== null) bed.push(drawn[k]);
  }
  if (bed.length === 0) return null;
  const surface = y(sag.surface_m);
  const under = bed.map((one) => `${x(one.chainage_m)} ${y(Number(one.level_m))}`);
  return s(
    'g',
    null,
    s('path', {
      class: 'sketch-water',
      d: `M${x(sag.from_m)} ${surface} L${under.join(' L')} L${x(sag.to_m)} ${surface} Z`
    }),
    s('line', { class: 'sketch-surface', x1: x(sag.from_m), x2: x(sag.to_m), y1: surface, y2: surface })
  );
}

/**
 * Index of the first station beyond a place; they stand in order.
 * @param {Drawn[]} drawn
 * @param {number} placeM
 * @returns {number}
 */
function firstBeyond(drawn, placeM) {
  let [low, high] = [0, drawn.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (drawn[middle].chainage_m > placeM) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** A level tie: the mark of a levelling staff. @param {number} x @param {number} y */
function tieMark(x, y) {
  return s(
    'g',
    { class: 'sketch-tie' },
    s('path', { d: `M${x} ${y} l6.5 -11 h-13 z` }),
    s('line', { x1: x - 9, x2: x + 9, y1: y - 11, y2: y - 11 })
  );
}

/** @param {string} flow */
function flowArrow(flow) {
  if (flow !== 'with_flow' && flow !== 'against_flow') return null;
  const way = flow === 'with_flow' ? 'M0 0 h30 m-7 -5 l7 5 -7 5' : 'M30 0 h-30 m7 -5 l-7 5 7 5';
  return s(
    'g',
    { class: 'sketch-flow' },
    s('path', { d: way, transform: `translate(${LEFT} 12)` }),
    s('text', { class: 'sketch-text', x: LEFT + 38, y: 16 }, t('sketch.flow'))
  );
}

function hatch() {
  return s(
    'defs',
    null,
    s(
      'pattern',
      { id: 'hatch', width: 9, height: 9, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' },
      s('line', { class: 'sketch-hatch', x1: 0, y1: 0, x2: 0, y2: 9 })
    )
  );
}

/** @param {Axes} axes @param {number} low @param {number} high @param {boolean} absolute */
function heights({ y }, low, high, absolute) {
  const step = niceStep((high - low) / 3.2);
  const places = step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;
  const levels = ticks(low, high, step);
  return s(
    'g',
    null,
    ...levels.flatMap((m) => [
      s('line', { class: 'sketch-grid', x1: LEFT, x2: WIDTH - RIGHT, y1: y(m), y2: y(m) }),
      s(
        'text',
        { class: 'sketch-text', x: LEFT - 7, y: y(m) + 5, 'text-anchor': 'end' },
        t('unit.m', { size: absolute ? fixedText(m, places) : fixedSignedText(m, places) })
      )
    ])
  );
}

/** @param {Axes} axes @param {number} endM */
function distances({ x }, endM) {
  const bottom = HEIGHT - BOTTOM;
  const marks = ticks(0, endM, niceStep(endM / 4));
  return s(
    'g',
    null,
    s('line', { class: 'sketch-axis', x1: LEFT, x2: WIDTH - RIGHT, y1: bottom, y2: bottom }),
    ...marks.map((m) => s('line', { class: 'sketch-axis', x1: x(m), x2: x(m), y1: bottom, y2: bottom + 6 })),
    ...marks
      .filter((m) => x(m) < WIDTH - RIGHT - 14)
      .map((m) =>
        s(
          'text',
          { class: 'sketch-text', x: x(m), y: HEIGHT - 14, 'text-anchor': 'middle' },
          m === 0 ? t('unit.m', { size: '0' }) : numberText(words, String(m))
        )
      )
  );
}

/** @param {number} rough @returns {number} 1, 2 or 5 times a power of ten, not less than what was asked */
export function niceStep(rough) {
  const power = 10 ** Math.floor(Math.log10(Math.max(rough, 1e-6)));
  return (STEPS.find((one) => one * power >= rough * 0.999) ?? 10) * power;
}

/** @param {number} low @param {number} high @param {number} step @returns {number[]} */
function ticks(low, high, step) {
  const found = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + step * 1e-9; k += 1)
    found.push(Number((k * step).toPrecision(10)));
  return found;
}

/** @param {number} m @param {number} endM */
function clip(m, endM) {
  return Math.min(Math.max(m, 0), endM);
}

/** @param {number} value */
function round(value) {
  return Math.round(value * 10) / 10;
}
