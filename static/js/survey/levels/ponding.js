/** Backfalls and sags: where water stands when no flow comes. Twin of webapp/survey/levels/ponding.py. */
import { SurveyError } from '../errors.js';
import { riseBetween } from './falls.js';
import { riseValue } from './values.js';
import { areasAndWidths } from '../section/shape.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/**
 * @typedef {{from_m: number, to_m: number, low_m: number, spill_m: number, depth_m: number, sd_m: number |
 *   null, length_m: number, volume_m3: number | null, surface_m: number, sure: boolean, open_end: boolean,
 *   at_least: boolean, fills: boolean}} Sag
 */
/**
 * @typedef {{from_m: number, to_m: number, rise_m: number, sd_m: number | null, sure: boolean, at_least:
 *   boolean}} Backfall
 */
/** @typedef {{chainage_m: number[], level_m: number[], sags: Sag[], backfalls: Backfall[]}} Ponding */

const NODES = [-0.906179845938664, -0.5384693101056831, 0, 0.5384693101056831, 0.906179845938664];
const WEIGHTS = [
  0.23692688505618908, 0.47862867049936647, 0.5688888888888889, 0.47862867049936647, 0.23692688505618908
];
const SAME_M = 1e-9; // inverts nearer than this are level with one another
const PANELS = 8;
const SURE = 2; // standard deviations

/** @param {LevelProfile} profile @param {string} flow @param {Bore | null} [bore] @returns {Ponding} */
export function standingWater(profile, flow, bore = null) {
  if (!['with_flow', 'against_flow', 'unknown'].includes(flow))
    throw new SurveyError('flow_unknown_word', 'flow');
  const [levels, unknown] = chain(profile);
  const surfaces = surfacesOf(levels, flow);
  /** @type {Sag[]} */
  const sags = [];
  let k = 0;
  while (k < levels.length) {
    let last = k;
    while (last < levels.length && levels[last] < surfaces[last] - SAME_M) last += 1;
    if (last > k) sags.push(sagOf(profile, [levels, unknown], [k, last - 1], flow, surfaces[k], bore));
    k = last === k ? last + 1 : last;
  }
  const backfalls = flow === 'unknown' ? [] : backfallsOf(profile, levels, unknown, flow);
  return { chainage_m: profile.stations.map((s) => s.chainage_m), level_m: levels, sags, backfalls };
}

/**
 * Levels added up from length to length, and which lengths have an unknown rise.
 * @param {LevelProfile} profile
 * @returns {[number[], boolean[]]}
 */
function chain(profile) {
  if (profile.gaps.length === 0) {
    // differences of levels are the rises
    const settled = profile.stations.map((s) => Number(s.level_m));
    return [settled, new Array(settled.length - 1).fill(false)];
  }
  const levels = [profile.stations[0].level_m ?? 0];
  /** @type {boolean[]} */
  const unknown = [];
  for (let k = 0; k + 1 < profile.stations.length; k += 1) {
    const value = riseValue(profile.solution, k, k + 1);
    let rise = value.value_m;
    if (rise === null) {
      const [low, high] = [value.low_m ?? 0, value.high_m ?? 0];
      rise = low > 0 ? low : high < 0 ? high : 0;
    }
    unknown.push(!value.settled);
    levels.push(levels[k] + rise);
  }
  return [levels, unknown];
}

/**
 * Up to where water would stand at each station; the invert itself where it would not.
 * @param {number[]} levels
 * @param {string} flow
 * @returns {number[]}
 */
function surfacesOf(levels, flow) {
  const [ahead, behind] = [[...levels], [...levels]];
  for (let k = levels.length - 2; k >= 0; k -= 1)
    ahead[k] = ahead[k + 1] > ahead[k] ? ahead[k + 1] : ahead[k];
  for (let k = 1; k < levels.length; k += 1)
    behind[k] = behind[k - 1] > behind[k] ? behind[k - 1] : behind[k];
  if (flow === 'with_flow') return ahead;
  if (flow === 'against_flow') return behind;
  return ahead.map((a, k) => (a < behind[k] ? a : behind[k]));
}

/**
 * @param {LevelProfile} profile
 * @param {[number[], boolean[]]} chain
 * @param {[number, number]} run
 * @param {string} flow
 * @param {number} surface
 * @param {Bore | null} bore
 * @returns {Sag}
 */
function sagOf(profile, [levels, unknown], [first, last], flow, surface, bore) {
  const { stations } = profile;
  let low = first;
  for (let k = first; k <= last; k += 1) {
    if (levels[k] < levels[low] - SAME_M) low = k;
  }
  let spill = last + 1;
  if (flow === 'against_flow' || (flow === 'unknown' && levels[first - 1] < levels[last + 1] - SAME_M))
    spill = first - 1;
  /** @type {[number, number][]} */
  const points = [];
  if (first > 0) points.push([meets(profile, levels, first, first - 1, surface), 0]);
  for (let k = first; k <= last; k += 1) points.push([stations[k].chainage_m, surface - levels[k]]);
  if (last + 1 < levels.length) points.push([meets(profile, levels, last, last + 1, surface), 0]);
  const depth = surface - levels[low];
  const atLeast = unknown.slice(Math.min(low, spill), Math.max(low, spill)).some(Boolean);
  const sd = atLeast ? null : riseBetween(profile.solution, low, spill)[1];
  const openEnd = flow === 'with_flow' ? first === 0 : last + 1 === levels.length;
  const [from, to] = [points[0][0], points[points.length - 1][0]];
  return {
    from_m: from,
    to_m: to,
    low_m: stations[low].chainage_m,
    spill_m: stations[spill].chainage_m,
    depth_m: depth,
    sd_m: sd,
    length_m: to - from,
    volume_m3: bore === null ? null : volumeOf(points, bore),
    surface_m: surface,
    sure: sd !== null && depth > SURE * sd,
    open_end: openEnd && flow !== 'unknown',
    at_least: atLeast,
    fills: bore !== null && depth >= bore.height_m
  };
}

/**
 * Chainage where the water's edge lies between a wet station and its dry neighbour.
 * @param {LevelProfile} profile
 * @param {number[]} levels
 * @param {number} wet
 * @param {number} dry
 * @param {number} surface
 */
function meets(profile, levels, wet, dry, surface) {
  const share = (surface - levels[wet]) / (levels[dry] - levels[wet]);
  const [from, to] = [profile.stations[wet].chainage_m, profile.stations[dry].chainage_m];
  return from + (share > 1 ? 1 : share) * (to - from);
}

/** @param {[number, number][]} points @param {Bore} bore @returns {number} */
function volumeOf(points, bore) {
  const at = areasAndWidths(bore);
  let total = 0;
  for (let k = 0; k + 1 < points.length; k += 1) {
    const [[from, first], [to, last]] = [points[k], points[k + 1]];
    for (let panel = 0; panel < PANELS; panel += 1) {
      NODES.forEach((node, n) => {
        const share = (panel + (node + 1) / 2) / PANELS;
        const depth = first + share * (last - first);
        const area =
          depth <= (bore.deposit_m ?? 0) ? 0 : at(depth < bore.height_m ? depth : bore.height_m)[0];
        total += (WEIGHTS[n] / 2 / PANELS) * (to - from) * area;
      });
    }
  }
  return total;
}

/**
 * @param {LevelProfile} profile @param {number[]} levels @param {boolean[]} unknown @param {string} flow
 * @returns {Backfall[]}
 */
function backfallsOf(profile, levels, unknown, flow) {
  const way = flow === 'with_flow' ? 1 : -1;
  /** @type {Backfall[]} */
  const found = [];
  let k = 0;
  while (k < unknown.length) {
    let last = k;
    while (last < unknown.length && way * (levels[last + 1] - levels[last]) > SAME_M) last += 1;
    if (last > k) {
      const atLeast = unknown.slice(k, last).some(Boolean);
      const [up, down] = way > 0 ? [k, last] : [last, k];
      const rise = levels[down] - levels[up];
      const sd = atLeast ? null : riseBetween(profile.solution, up, down)[1];
      const [from, to] = [profile.stations[up].chainage_m, profile.stations[down].chainage_m];
      found.push({
        from_m: from,
        to_m: to,
        rise_m: rise,
        sd_m: sd,
        sure: sd !== null && rise > SURE * sd,
        at_least: atLeast
      });
    }
    k = last === k ? last + 1 : last;
  }
  return found;
}
