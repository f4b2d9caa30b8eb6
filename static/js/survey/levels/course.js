/**
 * The course of a run and how single pipes vary about it, learnt from the readings. Twin of
 * webapp/survey/levels/course.py.
 */
import { DEG } from './seen.js';

/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./units.js').Unit} Unit */
/** @typedef {{pipe: number, walk: number}} Variances */
/**
 * @typedef {{mean: number[], zero: number[], var: number[], keep: number[], zero_deg: number, zero_sd_deg:
 *   number}} Course
 */
/** @typedef {{share: number, own: number}} Step */
/** @typedef {{share: number, own: number, seen: Seen}} Link */

const [PIPE_SD_DEG, PIPE_LOG_SD] = [0.35, 1]; // prior: pipes vary by 0.05 to 2.5 degrees about the course
const [PIPE_NODES, PIPE_FIRST_DEG, PIPE_RATIO] = [10, 0.03, 1.7];
// change of the course over 10 m, and its prior
const WALKS_DEG = [
  [0.02, 0.78],
  [0.1, 0.12],
  [0.3, 0.07],
  [1, 0.03]
];
export const WALK_M = 10;
const STEP_SD_DEG = 1; // from one stretch to the next
const FIRST_SD_DEG = 10; // of the course at the start: as good as no prior
const [BLOCK, MOST_BLOCKS] = [50, 6]; // of a long run so many units and places are looked at

/** @param {Unit[]} units @param {LevelSetup} setup @returns {Step[]} */
export function stepsOf(units, setup) {
  const joins = [...new Set((setup.pipes ?? []).flatMap((one) => [one.from_m, one.to_m]))];
  joins.sort((a, b) => a - b);
  const steps = [{ share: 0, own: 0 }];
  let n = 0;
  for (let u = 1; u < units.length; u += 1) {
    const left = (units[u - 1].from_m + units[u - 1].to_m) / 2;
    const right = (units[u].from_m + units[u].to_m) / 2;
    while (n < joins.length && joins[n] <= left) n += 1;
    const own = n < joins.length && joins[n] < right ? STEP_SD_DEG * DEG : 0;
    steps.push({ share: (right - left) / WALK_M, own: own * own });
  }
  return steps.slice(0, units.length);
}

/** @param {(Seen | null)[]} seen @param {Step[]} steps @param {number} zeroVar @returns {Variances} */
export function variancesOf(seen, steps, zeroVar) {
  const links = linksOf(seen, steps);
  /** @type {[number, number, number][]} */
  const scores = [];
  let best = -Infinity;
  for (let node = 0; node < PIPE_NODES; node += 1) {
    const sdDeg = PIPE_FIRST_DEG * PIPE_RATIO ** node;
    const off = Math.log(sdDeg / PIPE_SD_DEG) / PIPE_LOG_SD;
    for (const [walkDeg, share] of WALKS_DEG) {
      const tried = { pipe: (sdDeg * DEG) ** 2, walk: (walkDeg * DEG) ** 2 };
      const score = logLikelihood(links, tried, zeroVar) - (off * off) / 2 + Math.log(share);
      scores.push([score, tried.pipe, tried.walk]);
      if (score > best) best = score;
    }
  }
  let [total, pipes, walks] = [0, 0, 0];
  for (const [score, pipe, walk] of scores) {
    const weight = Math.exp(score - best);
    total += weight;
    pipes += weight * pipe;
    walks += weight * walk;
  }
  return { pipe: pipes / total, walk: walks / total };
}

/**
 * @param {(Seen | null)[]} seen @param {Step[]} steps @param {Variances} variances @param {number} zeroVar
 * @returns {Course}
 */
export function courseOf(seen, steps, variances, zeroVar) {
  const count = seen.length;
  const [means, zeros, spreads, ahead] = [0, 0, 0, 0].map(() => new Array(count).fill(0));
  let [mean, zero, spread, info, pull] = [0, 0, (FIRST_SD_DEG * DEG) ** 2, 0, 0];
  for (let k = 0; k < count; k += 1) {
    const one = seen[k];
    spread += steps[k].share * variances.walk + steps[k].own;
    ahead[k] = spread;
    if (one !== null) {
      const total = spread + one.var + variances.pipe;
      const [gain, off, turn] = [spread / total, one.mean - mean, one.zero - zero];
      mean += gain * off;
      zero += gain * turn;
      spread *= 1 - gain;
      info += (turn * turn) / total;
      pull += (turn * off) / total;
    }
    means[k] = mean;
    zeros[k] = zero;
    spreads[k] = spread;
  }
  const keep = new Array(count).fill(0);
  for (let k = count - 2; k >= 0; k -= 1) {
    const back = spreads[k] / ahead[k + 1];
    means[k] += back * (means[k + 1] - means[k]);
    zeros[k] += back * (zeros[k + 1] - zeros[k]);
    const smooth = spreads[k] * (1 - back) + back * back * spreads[k + 1];
    keep[k] = (back * spreads[k + 1]) / smooth;
    spreads[k] = smooth;
  }
  const zeroDeg = zeroVar > 0 ? pull / (info + 1 / zeroVar) : 0;
  const zeroSd = zeroVar > 0 ? 1 / Math.sqrt(info + 1 / zeroVar) : 0;
  for (let k = 0; k < count; k += 1) means[k] -= zeros[k] * zeroDeg;
  return { mean: means, zero: zeros, var: spreads, keep, zero_deg: zeroDeg, zero_sd_deg: zeroSd };
}

/**
 * The units that were read and the steps between them; of a long run some blocks of them.
 * @param {(Seen | null)[]} seen @param {Step[]} steps @returns {Link[]}
 */
function linksOf(seen, steps) {
  /** @type {Link[]} */
  const links = [];
  let [share, own] = [0, 0];
  for (let k = 0; k < seen.length; k += 1) {
    const one = seen[k];
    share += steps[k].share;
    own += steps[k].own;
    if (one === null) continue;
    links.push({ share, own, seen: one });
    [share, own] = [0, 0];
  }
  if (links.length <= BLOCK * MOST_BLOCKS) return links;
  /** @type {Link[]} */
  const chosen = [];
  for (let n = 0; n < MOST_BLOCKS; n += 1) {
    const first = Math.floor(((links.length - BLOCK) * n) / (MOST_BLOCKS - 1));
    chosen.push({ share: 0, own: (FIRST_SD_DEG * DEG) ** 2, seen: links[first].seen });
    for (let k = first + 1; k < first + BLOCK; k += 1) chosen.push(links[k]);
  }
  return chosen;
}

/** @param {Link[]} links @param {Variances} tried @param {number} zeroVar @returns {number} */
function logLikelihood(links, tried, zeroVar) {
  let [mean, zero, spread] = [0, 0, (FIRST_SD_DEG * DEG) ** 2];
  let [logs, square, cross, info] = [0, 0, 0, 0];
  for (let k = 0; k < links.length; k += 1) {
    const { share, own, seen } = links[k];
    spread += share * tried.walk + own;
    const total = spread + seen.var + tried.pipe;
    const gain = spread / total;
    const off = seen.mean - mean;
    const turn = seen.zero - zero;
    mean += gain * off;
    zero += gain * turn;
    spread *= 1 - gain;
    logs += Math.log(total);
    square += (off * off) / total;
    cross += (off * turn) / total;
    info += (turn * turn) / total;
  }
  if (zeroVar > 0) {
    square -= (cross * cross) / (info + 1 / zeroVar);
    logs += Math.log(1 + zeroVar * info);
  }
  return -(logs + square) / 2;
}
