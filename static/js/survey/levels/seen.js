/** What the readings say of each unit of a run. Twin of webapp/survey/levels/seen.py. */
import { READ, TRACK_M } from './units.js';

/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./units.js').Unit} Unit */
/** @typedef {{mean: number, var: number, zero: number, off: number}} Seen */
/** @typedef {{factor: number, step_deg: number, squares: number, freedom: number}} Noise */

export const DEG = Math.PI / 180;
const MIN_SD_DEG = 1e-6; // no inclinometer is better
const NOISE_PRIOR = 6; // what is stated of the readings counts as so many squares of their own
const GRIDS_DEG = [1, 0.5, 0.25, 0.2, 0.1];
const GRID_LEAST = 6; // readings that make a grid
const [ACROSS, ACROSS_PRIOR] = [0.25, 0.2]; // how much of a joint's doubt counts for a reading across it

/** @param {Unit[]} units @param {LevelReading[]} chosen @param {LevelSetup} setup @returns {Noise} */
export function noiseOf(units, chosen, setup) {
  let [squares, freedom] = [0, 0];
  for (const unit of units) {
    if (unit.kind === READ && unit.last - unit.first > 1 && unit.doubt_m2 === null) {
      const [square, free] = within(unit, chosen, setup);
      squares += square;
      freedom += free;
    }
  }
  const factor = squares > freedom ? (NOISE_PRIOR + squares) / (NOISE_PRIOR + freedom) : 1;
  const step = display(chosen);
  return { factor, step_deg: step / Math.sqrt(12) > setup.sd_deg / 2 ? step : 0, squares, freedom };
}

/**
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {LevelSetup} setup @param {Noise} noise
 * @param {number} jointVar @returns {(Seen | null)[]}
 */
export function seenOf(units, chosen, setup, noise, jointVar) {
  return units.map((unit) => (unit.kind === READ ? seenIn(unit, chosen, setup, noise, jointVar) : null));
}

/**
 * @param {Unit[]} units @param {LevelReading[]} chosen @param {LevelSetup} setup @param {Noise} noise
 * @param {number} pipeVar @returns {number}
 */
export function acrossOf(units, chosen, setup, noise, pipeVar) {
  let [seen, due] = [ACROSS_PRIOR * ACROSS, ACROSS_PRIOR];
  for (const unit of units) {
    if (unit.kind !== READ || unit.doubt_m2 !== null || unit.last - unit.first < 2) continue;
    let [mean, clear] = [0, 0];
    for (let i = unit.first; i < unit.last; i += 1) {
      if (shareBeyond(unit, chosen[i].chainage_m) !== 0) continue;
      mean += Math.sin((chosen[i].deg ?? 0) * DEG);
      clear += 1;
    }
    if (clear === 0) continue;
    mean /= clear;
    for (let i = unit.first; i < unit.last; i += 1) {
      const share = shareBeyond(unit, chosen[i].chainage_m);
      if (share === 0) continue;
      const off = Math.sin((chosen[i].deg ?? 0) * DEG) - mean;
      const sd = Math.max(chosen[i].sd_deg ?? setup.sd_deg, MIN_SD_DEG) * DEG;
      const random = sd * sd * noise.factor * (1 + 1 / clear);
      seen += (off * off - random) / (2 * pipeVar);
      due += share * share;
    }
  }
  return 2 * pipeVar * Math.max(0, Math.min(1, seen / due));
}

/** @param {Unit} unit @param {number} placeM @returns {number} */
export function shareBeyond(unit, placeM) {
  if (unit.doubt_m2 !== null) return 0;
  const left = TRACK_M / 2 - (placeM - unit.from_m);
  const right = TRACK_M / 2 - (unit.to_m - placeM);
  const far = left > right ? left : right;
  return far < 1e-9 ? 0 : Math.min(0.5, far / TRACK_M);
}

/**
 * Squares of the readings of a pipe about their mean, over the stated, and how many are free.
 * @param {Unit} unit @param {LevelReading[]} chosen @param {LevelSetup} setup @returns {[number, number]}
 */
function within(unit, chosen, setup) {
  let [total, weight, square, count] = [0, 0, 0, 0];
  for (let i = unit.first; i < unit.last; i += 1) {
    const reading = chosen[i];
    if (shareBeyond(unit, reading.chainage_m) > 0) continue;
    if (Boolean(reading.turned) !== Boolean(chosen[unit.first].turned)) continue;
    const sd = Math.max(reading.sd_deg ?? setup.sd_deg, MIN_SD_DEG);
    const deg = reading.deg ?? 0;
    const w = 1 / (sd * sd);
    total += w * deg;
    weight += w;
    square += w * deg * deg;
    count += 1;
  }
  if (count < 2) return [0, 0];
  return [Math.max(square - (total * total) / weight, 0), count - 1];
}

/**
 * The coarsest step on which all readings lie [deg]; 0 without one.
 * @param {LevelReading[]} chosen @returns {number}
 */
function display(chosen) {
  let known = 0;
  for (const { deg } of chosen) if (deg !== null) known += 1;
  if (known < GRID_LEAST) return 0;
  for (const step of GRIDS_DEG) {
    if (chosen.every(({ deg }) => deg === null || Math.abs(deg / step - Math.floor(deg / step + 0.5)) < 1e-6))
      return step;
  }
  return 0;
}

/**
 * @param {Unit} unit @param {LevelReading[]} chosen @param {LevelSetup} setup @param {Noise} noise
 * @param {number} jointVar @returns {Seen}
 */
function seenIn(unit, chosen, setup, noise, jointVar) {
  const zeroDeg = setup.zero_deg ?? 0;
  let [weight, mean, zero] = [0, 0, 0];
  for (let i = unit.first; i < unit.last; i += 1) {
    const reading = chosen[i];
    const way = reading.turned ? -1 : 1;
    const angle = ((reading.deg ?? 0) - way * zeroDeg) * DEG;
    const slope = Math.cos(angle) * DEG;
    const sd = Math.max(reading.sd_deg ?? setup.sd_deg, MIN_SD_DEG) * slope;
    const share = shareBeyond(unit, reading.chainage_m);
    const w = 1 / (sd * sd * noise.factor + share * share * jointVar);
    weight += w;
    mean += w * Math.sin(angle);
    zero += w * way * slope;
  }
  const step = noise.step_deg * DEG;
  return { mean: mean / weight, var: 1 / weight + (step * step) / 12, zero: zero / weight, off: 0 };
}
