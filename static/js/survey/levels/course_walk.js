/** The level model pipe by pipe. Twin of webapp/survey/levels/course_walk.py. */
import { NOT_READ, SAME_PLACE_M } from './input.js';
import { FLAT, learn, slopeOf } from './learn.js';
import { cutRun, GAP, READ, UNREAD } from './units.js';

/** @typedef {import('./chain.js').Chain} Chain */
/** @typedef {import('./course.js').Course} Course */
/** @typedef {import('./course.js').Variances} Variances */
/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/** @typedef {import('./model.js').LevelGap} LevelGap */
/** @typedef {import('./model.js').LevelWalk} LevelWalk */
/** @typedef {import('./learn.js').Learnt} Learnt */
/** @typedef {import('./units.js').Unit} Unit */
/** @typedef {import('./learn.js').Slope} Slope */

const REST_SDS = 3; // what lies beside the crawler's own place is taken as steep as this many spreads allow
/** @type {[number, number][]} */
const NONE = [];

/**
 * @param {LevelReading[]} readings @param {number[]} kept @param {LevelTie[]} ties @param {LevelSetup} setup
 * @returns {LevelWalk}
 */
export function walkCourse(readings, kept, ties, setup) {
  const chosen = kept.map((i) => readings[i]);
  const units = cutRun(chosen, ties, setup);
  const learnt = learn(units, chosen, setup);
  const { course, variances } = learnt;
  const slopes = units.map((unit, u) => slopeOf(u, unit, learnt));
  const walk = emptyWalk(units, kept, learnt);
  for (const slope of slopes) walk.var.push(slope.var);
  units.forEach((unit, u) => {
    if (unit.kind !== GAP) return;
    const over = chosen[unit.first].over ?? 0;
    walk.gaps.push(gapOf(unit, kept[unit.first], over, [course, u, variances], setup));
  });
  const tied = ties.map((tie) => tie.chainage_m).sort((a, b) => a - b);
  goAlong(walk, units, slopes, course, tied);
  const known = units.filter((unit) => unit.kind !== UNREAD);
  const first = known.length ? known[0].from_m : setup.start_chainage_m;
  const last = known.length ? known[known.length - 1].to_m : setup.start_chainage_m;
  const places = walk.chainage_m;
  for (let k = 0; k < places.length; k += 1)
    walk.assumed.push(k > 0 && (places[k] <= first || places[k - 1] >= last));
  return walk;
}

/** @param {Unit[]} units @param {number[]} kept @param {Learnt} learnt @returns {LevelWalk} */
function emptyWalk(units, kept, { course, noise, odd }) {
  return {
    kept: units.map((unit) => (unit.kind === READ ? kept[unit.first] : -1)),
    acts_m: units.map((unit) => unit.to_m - unit.from_m),
    var: [],
    gaps: [],
    chainage_m: [],
    rise_m: [],
    common: [],
    done_m2: [],
    parts: [],
    gaps_done: [],
    gap_parts: [],
    assumed: [],
    done_count: [],
    zero_row: [course.zero_sd_deg],
    zero_deg: course.zero_deg,
    chain: {
      load_m: [],
      log_keep: [],
      ahead_m: [],
      unit: [],
      rest_m: [],
      rest_load_m: [],
      with_slope_m: [],
      with_course_m: []
    },
    noise,
    odd: odd.map(({ unit, spreads }) => ({ reading: kept[units[unit].first], spreads }))
  };
}

/**
 * An unknown rise: sure is only where the crawler stood; the rest is steep or goes with the course.
 * @param {Unit} unit @param {number} reading @param {number} over
 * @param {[Course, number, Variances]} courseAt @param {LevelSetup} setup @returns {LevelGap}
 */
function gapOf(unit, reading, over, courseAt, setup) {
  const length = unit.to_m - unit.from_m;
  if (over === NOT_READ)
    return { reading, length_m: length, low_m: -length, high_m: length, way: 0, own_m: 0, flat: -1 };
  const [course, u, variances] = courseAt;
  const least = Math.sin(((setup.limit_deg ?? 10) * Math.PI) / 180);
  let flat = over * course.mean[u] - REST_SDS * Math.sqrt(course.var[u] + variances.pipe);
  flat = Math.max(-1, Math.min(flat, least));
  const low = unit.own_m * least + (length - unit.own_m) * flat;
  const limits = over > 0 ? { low_m: low, high_m: length } : { low_m: -length, high_m: -low };
  return { reading, length_m: length, ...limits, way: over, own_m: unit.own_m, flat };
}

/**
 * Go along the units; within a pipe that holds a tie its slope acts up to there.
 * @param {LevelWalk} walk @param {Unit[]} units @param {Slope[]} slopes @param {Course} course
 * @param {number[]} tied
 */
function goAlong(walk, units, slopes, course, tied) {
  const chain = /** @type {Chain} */ (walk.chain);
  const state = { rise: 0, zero: 0, var: 0, bound: 0, gaps: 0, units: 0 };
  const count = units.length;
  let [t, kept] = [0, 0];
  const start = count ? units[0].from_m : 0;
  addStation(walk, state, [start, 0, count ? walk.acts_m[0] : 0, 0], count ? slopes[0] : FLAT, 0);
  for (let u = 0; u < count; u += 1) {
    const [unit, slope, spread, length] = [units[u], slopes[u], course.var[u], walk.acts_m[u]];
    chain.load_m.push(length * slope.course);
    chain.log_keep.push(kept);
    kept += u + 1 < count ? Math.log(course.keep[u]) : 0;
    while (t < tied.length && tied[t] < unit.to_m - SAME_PLACE_M) {
      const place = tied[t];
      if (place - walk.chainage_m[walk.chainage_m.length - 1] > SAME_PLACE_M)
        addStation(walk, state, [place, u, length, place - unit.from_m], slope, spread);
      t += 1;
    }
    state.gaps += unit.kind === GAP ? 1 : 0;
    state.units += 1;
    addStation(walk, state, [unit.to_m, u, length, length], slope, spread);
    goOn(state, slope, length, spread, course.keep[u]);
  }
  let ahead = 0;
  for (let u = count - 1; u >= 0; u -= 1) {
    chain.ahead_m.push(ahead);
    ahead = u ? course.keep[u - 1] * (chain.load_m[u] + ahead) : 0;
  }
  chain.ahead_m.reverse();
}

/** @typedef {{rise: number, zero: number, var: number, bound: number, gaps: number, units: number}} State */

/**
 * Add a station: its place, its unit, the length of that and how much of it lies behind.
 * @param {LevelWalk} walk @param {State} state @param {[number, number, number, number]} at
 * @param {Slope} slope @param {number} spread
 */
function addStation(walk, state, [place, unit, length, x], slope, spread) {
  const { var: own, course: load, zero, mean } = slope;
  const chain = /** @type {Chain} */ (walk.chain);
  const whole = load * load * spread + own;
  walk.chainage_m.push(place);
  walk.rise_m.push(state.rise + x * mean);
  walk.common.push([(state.zero + x * zero) * walk.zero_row[0]]);
  walk.done_m2.push(state.var + 2 * x * load * state.bound + x * x * whole);
  walk.gaps_done.push(state.gaps);
  walk.done_count.push(state.units);
  walk.gap_parts.push(NONE);
  chain.unit.push(unit);
  chain.rest_m.push(length - x);
  chain.rest_load_m.push((length - x) * load);
  chain.with_slope_m.push(load * state.bound + x * whole);
  chain.with_course_m.push(state.bound + x * load * spread);
}

/**
 * Leave a unit for the next.
 * @param {State} state @param {Slope} slope @param {number} x @param {number} spread @param {number} keep
 */
function goOn(state, slope, x, spread, keep) {
  const load = slope.course;
  state.rise += x * slope.mean;
  state.zero += x * slope.zero;
  state.var += 2 * x * load * state.bound + x * x * (load * load * spread + slope.var);
  state.bound = (state.bound + x * load * spread) * keep;
}
