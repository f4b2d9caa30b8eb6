/** The level model: which reading acts over which length. Twin of webapp/survey/levels/model.py. */
import { SurveyError } from '../errors.js';
import { chainCovariance } from './chain.js';
import { walkCourse } from './course_walk.js';
import { checkReadings, checkSetup, checkTies, NOT_READ, SAME_PLACE_M } from './input.js';

/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/** @typedef {import('./input.js').LevelSetup} LevelSetup */
/**
 * @typedef {{reading: number, length_m: number, low_m: number, high_m: number, way: number, own_m: number,
 *   flat: number}} LevelGap
 */
/** @typedef {{chainage_m: number, reading: number}} Post */
/** @typedef {{reading: number, spreads: number}} OddReading */
/**
 * @typedef {{kept: number[], acts_m: number[], var: number[], gaps: LevelGap[], chainage_m: number[], rise_m:
 *   number[], common: number[][], done_m2: number[], parts: [number, number][][], gaps_done: number[],
 *   gap_parts: [number, number][][], assumed: boolean[], done_count: number[], zero_row: number[],
 *   zero_deg: number, chain: import('./chain.js').Chain | null, noise: import('./seen.js').Noise | null, odd:
 *   OddReading[] | null}} LevelWalk
 */

/**
 * @param {LevelReading[]} readings
 * @param {LevelTie[]} ties
 * @param {LevelSetup} setup
 * @returns {LevelWalk}
 */
export function walkLevels(readings, ties, setup) {
  checkSetup(setup);
  const kept = checkReadings(readings, setup.start_chainage_m);
  const lastTie = checkTies(ties, setup);
  if (setup.mode === 'course') return walkCourse(readings, kept, ties, setup);
  const chosen = kept.map((i) => readings[i]);
  const posts = postsOf(chosen, kept, setup, lastTie);
  const acts = actingLengths(posts, chosen.length);
  const [gaps, gapOf] = gapsOf(chosen, kept, acts, setup.limit_deg ?? 10);
  const [sines, slopes] = sinesAndSlopes(chosen, setup);
  const variances = slopes.map((slope, i) => (slope * (chosen[i].sd_deg ?? setup.sd_deg)) ** 2);
  /** @type {LevelWalk} */
  const walk = {
    kept,
    acts_m: acts,
    var: variances,
    gaps,
    chainage_m: stationsOf(posts, ties),
    rise_m: [],
    common: [],
    done_m2: [],
    parts: [],
    gaps_done: [],
    gap_parts: [],
    assumed: [],
    done_count: [],
    zero_row: [-setup.zero_sd_deg],
    zero_deg: 0,
    chain: null,
    noise: null,
    odd: null
  };
  goAlong(walk, posts, [sines, slopes], gapOf, setup.zero_sd_deg);
  const end = chosen[chosen.length - 1];
  const first = chosen[0].chainage_m;
  let last = end.to_m ?? end.chainage_m;
  if (setup.mode === 'span' && (setup.end_chainage_m ?? null) !== null)
    last = posts[posts.length - 1].chainage_m;
  const places = walk.chainage_m;
  for (let k = 0; k < places.length; k += 1)
    walk.assumed.push(k > 0 && (places[k] <= first || places[k - 1] >= last));
  return walk;
}

/** @param {LevelWalk} walk @param {number} left @param {number} right @returns {number} */
export function randomCovariance(walk, left, right) {
  const j = left <= right ? left : right;
  const k = left <= right ? right : left;
  if (walk.chain) return chainCovariance(walk.chain, walk.done_m2, j, k);
  let total = walk.done_m2[j];
  const ours = walk.parts[j];
  const theirs = walk.parts[k];
  for (let a = 0; a < ours.length; a += 1) {
    const reading = ours[a][0];
    let further = walk.acts_m[reading];
    for (let b = 0; b < theirs.length; b += 1) {
      if (theirs[b][0] === reading) further = theirs[b][1];
    }
    total += ours[a][1] * further * walk.var[reading];
  }
  return total;
}

/**
 * Where each reading stands, from the start to the end: the outermost are taken to go on.
 * @param {LevelReading[]} chosen
 * @param {number[]} kept
 * @param {LevelSetup} setup
 * @param {number} lastTie
 * @returns {Post[]}
 */
function postsOf(chosen, kept, setup, lastTie) {
  /** @type {Post[]} */
  const posts = [];
  const end = setup.end_chainage_m ?? null;
  chosen.forEach((reading, i) => {
    if (posts.length && reading.chainage_m < posts[posts.length - 1].chainage_m) {
      throw new SurveyError('pipes_overlap', 'readings', kept[i]);
    }
    posts.push({ chainage_m: reading.chainage_m, reading: i });
    let to = reading.to_m ?? null;
    if (setup.mode === 'span') to = i + 1 < chosen.length ? chosen[i + 1].chainage_m : end;
    if (to !== null && to > reading.chainage_m) posts.push({ chainage_m: to, reading: i });
  });
  if (posts[0].chainage_m > setup.start_chainage_m)
    posts.unshift({ chainage_m: setup.start_chainage_m, reading: 0 });
  const far = end === null || lastTie > end + SAME_PLACE_M ? lastTie : end;
  const last = posts[posts.length - 1];
  if (far > last.chainage_m + (end !== null ? 0 : SAME_PLACE_M))
    posts.push({ chainage_m: far, reading: last.reading });
  return posts;
}

/** @param {Post[]} posts @param {number} count @returns {number[]} */
function actingLengths(posts, count) {
  const acts = new Array(count).fill(0);
  for (let p = 1; p < posts.length; p += 1) {
    const half = (posts[p].chainage_m - posts[p - 1].chainage_m) / 2;
    acts[posts[p - 1].reading] += half;
    acts[posts[p].reading] += half;
  }
  return acts;
}

/**
 * The unknown rises, and for each reading the place of its own among them or -1.
 * @param {LevelReading[]} chosen @param {number[]} kept @param {number[]} acts @param {number} limitDeg
 * @returns {[LevelGap[], number[]]}
 */
function gapsOf(chosen, kept, acts, limitDeg) {
  /** @type {LevelGap[]} */
  const gaps = [];
  const gapOf = new Array(chosen.length).fill(-1);
  const least = Math.sin((limitDeg * Math.PI) / 180);
  chosen.forEach((reading, i) => {
    if (reading.deg !== null || !(acts[i] > 0)) return;
    gapOf[i] = gaps.length;
    let [low, high] = Number(reading.over) > 0 ? [least * acts[i], acts[i]] : [-acts[i], -least * acts[i]];
    if (reading.over === NOT_READ) [low, high] = [-acts[i], acts[i]];
    const way = reading.over === NOT_READ ? 0 : Number(reading.over);
    const flat = way === 0 ? -1 : least;
    gaps.push({
      reading: kept[i],
      length_m: acts[i],
      low_m: low,
      high_m: high,
      way,
      own_m: acts[i],
      flat
    });
  });
  return [gaps, gapOf];
}

/**
 * Sines of the readings with the zero error taken off, and their change per degree.
 * @param {LevelReading[]} chosen
 * @param {LevelSetup} setup
 * @returns {[number[], number[]]}
 */
function sinesAndSlopes(chosen, setup) {
  const zero = setup.zero_deg ?? 0;
  const sines = new Array(chosen.length).fill(0);
  const slopes = new Array(chosen.length).fill(0);
  for (let i = 0; i < chosen.length; i += 1) {
    const { deg } = chosen[i];
    if (deg === null) continue;
    const way = chosen[i].turned ? -1 : 1;
    const angle = ((deg - way * zero) * Math.PI) / 180;
    sines[i] = Math.sin(angle);
    slopes[i] = (way * Math.cos(angle) * Math.PI) / 180;
  }
  return [sines, slopes];
}

/** @param {Post[]} posts @param {LevelTie[]} ties @returns {number[]} */
function stationsOf(posts, ties) {
  /** @type {number[]} */
  const stations = [];
  for (const { chainage_m: place } of posts) {
    // they ascend already
    if (stations.length === 0 || place > stations[stations.length - 1]) stations.push(place);
  }
  if (ties.length === 0) return stations;
  /** @type {number[]} */
  const merged = [];
  let k = 0;
  for (const place of ties.map((tie) => tie.chainage_m).sort((a, b) => a - b)) {
    while (k < stations.length && stations[k] <= place + SAME_PLACE_M) {
      merged.push(stations[k]);
      k += 1;
    }
    if (place - merged[merged.length - 1] > SAME_PLACE_M) merged.push(place);
  }
  for (; k < stations.length; k += 1) merged.push(stations[k]);
  return merged;
}

/**
 * Go along the stations; a reading is done where the next post lies. One plain loop: the log does this after
 * every edit.
 * @param {LevelWalk} walk
 * @param {Post[]} posts
 * @param {[number[], number[]]} read sines and their change per degree
 * @param {number[]} gapOf
 * @param {number} zeroSd
 */
function goAlong(walk, posts, [sines, slopes], gapOf, zeroSd) {
  const { acts_m: acts, chainage_m: places, var: variances } = walk;
  const soFar = new Array(acts.length).fill(0);
  const last = posts.length - 1;
  let [rise, zero, variance, p, done, count] = [0, 0, 0, 0, 0, 0];
  for (let k = 0; k < places.length; k += 1) {
    const here = places[k];
    if (k) {
      const half = (here - places[k - 1]) / 2;
      const behind = posts[p].reading;
      const ahead = posts[p < last ? p + 1 : last].reading;
      rise += half * sines[behind];
      zero += half * slopes[behind];
      soFar[behind] += half;
      rise += half * sines[ahead];
      zero += half * slopes[ahead];
      soFar[ahead] += half;
    }
    let first = posts[p].reading;
    while (p < last && posts[p + 1].chainage_m <= here) {
      p += 1;
      const next = posts[p].reading;
      if (next === first) continue;
      count += 1;
      if (gapOf[first] >= 0) done += 1;
      else variance += acts[first] ** 2 * variances[first];
      first = next;
    }
    let second = -1;
    if (p >= last) {
      count += 1;
      if (gapOf[first] >= 0) done += 1;
      else variance += acts[first] ** 2 * variances[first];
      first = -1;
    } else if (posts[p + 1].reading !== first) second = posts[p + 1].reading;
    record(walk, first, second, soFar, gapOf);
    walk.rise_m.push(rise);
    walk.common.push([zero * zeroSd]);
    walk.done_m2.push(variance);
    walk.gaps_done.push(done);
    walk.done_count.push(count);
  }
}

/** @type {[number, number][]} */
const NONE = [];

/**
 * Note which readings, -1 for none, are under way at this station, and how far.
 * @param {LevelWalk} walk
 * @param {number} first
 * @param {number} second
 * @param {number[]} soFar
 * @param {number[]} gapOf
 */
function record(walk, first, second, soFar, gapOf) {
  const one = first >= 0 && soFar[first] > 0;
  const two = second >= 0 && soFar[second] > 0;
  const [oneGap, twoGap] = [one && gapOf[first] >= 0, two && gapOf[second] >= 0];
  let parts = NONE;
  if (one && !oneGap)
    parts =
      two && !twoGap
        ? [
            [first, soFar[first]],
            [second, soFar[second]]
          ]
        : [[first, soFar[first]]];
  else if (two && !twoGap) parts = [[second, soFar[second]]];
  walk.parts.push(parts);
  if (!oneGap && !twoGap) {
    walk.gap_parts.push(NONE);
    return;
  }
  /** @type {[number, number][]} */
  const gapParts = [];
  if (oneGap) gapParts.push([gapOf[first], share(soFar[first], walk.acts_m[first])]);
  if (twoGap) gapParts.push([gapOf[second], share(soFar[second], walk.acts_m[second])]);
  walk.gap_parts.push(gapParts);
}

/**
 * Part of the length that lies behind; whole where only the addition differs.
 * @param {number} soFar
 * @param {number} acts
 * @returns {number}
 */
function share(soFar, acts) {
  return soFar > acts * (1 - 1e-12) ? 1 : soFar / acts;
}
