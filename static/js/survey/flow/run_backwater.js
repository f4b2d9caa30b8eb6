/**
 * What a stretch and a whole run carry by their grade line, and under a level at the upper end. Twin of
 * webapp/survey/flow/run_backwater.py.
 */
import { carriedFull, carriedToLevel } from './backwater.js';
import { LEVEL, SIGMAS_95 } from './capacity_band.js';
import { linePieces, upperEndsM } from './invert_line.js';
import { fullFlow } from './open_flow.js';
import { waterway } from './waterway.js';

/** @typedef {import('./invert_line.js').InvertLine} InvertLine */
/** @typedef {import('./grade_line.js').Piece} Piece */
/** @typedef {import('./waterway.js').Waterway} Waterway */
/** @typedef {import('./capacity_limits.js').LimitedRow} LimitedRow */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('./narrowing.js').LaidBore} LaidBore */
/** @typedef {[LimitedRow, InvertLine]} Pair */
/**
 * @typedef {{gradient: number, even_m3_s: number, mean_m3_s: number, low_m3_s: number | null, high_m3_s:
 *   number, at_m: number | null}} StretchCarries
 */
/** @typedef {{node_id: string, level_m: number}} Cover */
/** @typedef {Cover & {invert_m: number}} CoverAtInvert */
/**
 * @typedef {{node_id: string, level_m: number, discharge_m3_s: number, low_m3_s: number, high_m3_s: number}}
 *   Surcharge
 */
/**
 * @typedef {{low_m3_s: number, mean_m3_s: number, high_m3_s: number, known: string, at_m: number | null,
 *   surcharge: Surcharge | null}} RunCarries
 */

const TOUCH_M = 0.05; // stretches farther apart than this leave a gap
const OWN_FALL = ['gradient_level', 'gradient_adverse']; // the others may carry water through it all the same

/**
 * @param {InvertLine} line
 * @param {import('../section/bore.js').Bore} bore
 * @param {number} roughnessMm
 * @returns {StretchCarries}
 */
export function stretchCarries(line, bore, roughnessMm) {
  const last = line.places_m.length - 1;
  const gradient = Math.min(1, (line.levels_m[0] - line.levels_m[last]) / line.places_m[last]);
  const way = waterway(bore, wallOf(roughnessMm));
  const even = fullFlow(bore, gradient, way.resistance).discharge_m3_s;
  const found = carriedFull(linePieces(line, way), even);
  const mean = found.discharge_m3_s;
  const [byFall, byBow] = [SIGMAS_95 * line.fall_sd_m, SIGMAS_95 * line.bow_sd_m];
  const ends = [-byFall, byFall].map((by) => tilted(line, way, gradient, by));
  const bows = byBow > 0 ? [-byBow, byBow].map((by) => bowed(line, way, even, by)) : [mean];
  let [down, up] = [Infinity, Infinity];
  if (mean > 0) {
    down = Math.hypot(log(mean, ends[0]), log(mean, Math.min(...bows)));
    up = Math.hypot(log(ends[1], mean), log(Math.max(...bows), mean));
  }
  return {
    gradient,
    even_m3_s: even,
    mean_m3_s: mean,
    low_m3_s: down === Infinity ? null : mean * Math.exp(-down),
    high_m3_s: up === Infinity ? mean : mean * Math.exp(up),
    at_m: found.piece === null ? null : upperEndsM(line)[found.piece]
  };
}

/**
 * What a stretch carries whose band has numbers.
 * @typedef {import('./capacity.js').Capacity & {low_m3_s: number, mean_m3_s: number, high_m3_s: number}}
 *   Measured
 */

/**
 * @param {LimitedRow[]} rows
 * @param {Array<InvertLine | null>} lines
 * @param {string} flow
 * @param {CoverAtInvert | null} cover
 * @returns {RunCarries | null}
 */
export function runCarries(rows, lines, flow, cover) {
  const pairs = inOrder(rows, lines, flow);
  /** @type {LimitedRow | null} */
  let least = null;
  for (const [row] of pairs)
    if (meanOf(row) !== null && (least === null || Number(meanOf(row)) < Number(meanOf(least)))) least = row;
  if (least === null) return null;
  const here = /** @type {Measured} */ (least.capacity);
  const most = Number(here.mean_m3_s);
  if (most <= 0) return null;
  const [pieces, chainages] = piecesOf(pairs, 0);
  const found = pairs.length === 1 ? { discharge_m3_s: most, piece: null } : carriedFull(pieces, most);
  const mean = found.discharge_m3_s;
  if (mean <= 0) return null;
  const [low, high] = ends(pairs, mean, most, here);
  return {
    low_m3_s: low,
    mean_m3_s: mean,
    high_m3_s: high,
    known: here.known,
    at_m: found.piece === null ? least.first_full_m : chainages[found.piece],
    surcharge: cover ? surchargeOf(pieces, cover, [low, mean, high]) : null
  };
}

/**
 * The level of the cover at the upper end of a run; null where the run did not reach it or it is not
 * recorded.
 * @param {RunFields} run
 * @param {import('../instruments/instruments.js').Item[]} nodes
 * @param {string} flow
 * @returns {Cover | null}
 */
export function upperCover(run, nodes, flow) {
  const reached = flow === 'with_flow' || run.end_reason === 'node_reached';
  const wanted = run[flow === 'with_flow' ? 'start_node_id' : 'finish_node_id'] ?? null;
  if (!reached || wanted === null) return null;
  const node = nodes.find((one) => one.id === wanted && (one.fields.cover_level_m ?? null) !== null);
  return node ? { node_id: wanted, level_m: Number(node.fields.cover_level_m) } : null;
}

/** The stretches with their inverts, upstream first; none where one lacks something or a gap lies between.
 * @param {LimitedRow[]} rows @param {Array<InvertLine | null>} lines @param {string} flow
 * @returns {Pair[]} */
function inOrder(rows, lines, flow) {
  /** @type {Pair[]} */
  const pairs = [];
  rows.forEach((row, k) => {
    const line = lines[k];
    if (line !== null && usable(row)) pairs.push([row, line]);
  });
  if (pairs.length < rows.length) return [];
  pairs.sort((a, b) => Number(a[0].from_m) - Number(b[0].from_m));
  for (let k = 1; k < pairs.length; k += 1)
    if (Math.abs(Number(pairs[k][0].from_m) - Number(pairs[k - 1][0].to_m)) > TOUCH_M) return [];
  return flow === 'with_flow' ? pairs : pairs.reverse();
}

/** Whether it has a number, or lacks one for its own fall alone.
 * @param {LimitedRow} row @returns {boolean} */
function usable(row) {
  if (row.capacity === null || row.narrowings.some((one) => one.left_pct === null)) return false;
  return row.capacity.mean_m3_s !== null || OWN_FALL.includes(row.capacity.findings[0]);
}

/** The pieces of all stretches with the chainage of their upper ends, each fall moved by so much.
 * @param {Pair[]} pairs @param {number} sigmas @returns {[Piece[], number[]]} */
function piecesOf(pairs, sigmas) {
  return [
    pairs.flatMap(([row, line]) => linePieces(line, wayOf(row), sigmas * line.fall_sd_m)),
    pairs.flatMap(([, line]) => upperEndsM(line))
  ];
}

/**
 * The ends of the band: those of the least stretch, and of several the falls of all of them together.
 * @param {Pair[]} pairs
 * @param {number} mean
 * @param {number} most
 * @param {Measured} here
 * @returns {[number, number]}
 */
function ends(pairs, mean, most, here) {
  let [down, up] = [log(most, here.low_m3_s), log(here.high_m3_s, most)];
  if (pairs.length > 1) {
    const high = carriedFull(piecesOf(pairs, SIGMAS_95)[0], 2 * here.high_m3_s).discharge_m3_s;
    const low = carriedFull(piecesOf(pairs, -SIGMAS_95)[0], mean).discharge_m3_s;
    [down, up] = [
      Math.hypot(down, log(mean, low)),
      Math.hypot(up, log(Math.min(high, here.high_m3_s), mean))
    ];
  }
  return [down === Infinity ? 0 : mean * Math.exp(-down), mean * Math.exp(up)];
}

/**
 * The flow that lifts the water to the cover at the upper end; null where that is not above the crown.
 * @param {Piece[]} pieces
 * @param {CoverAtInvert} cover
 * @param {[number, number, number]} band
 * @returns {Surcharge | null}
 */
function surchargeOf(pieces, cover, [low, mean, high]) {
  const above = cover.level_m - cover.invert_m;
  if (above <= pieces[0].way.bore.height_m) return null;
  const flow = carriedToLevel(pieces, above, mean);
  if (flow === null || flow <= mean) return null;
  return {
    node_id: cover.node_id,
    level_m: cover.level_m,
    discharge_m3_s: flow,
    low_m3_s: (flow * low) / mean,
    high_m3_s: (flow * high) / mean
  };
}

/** @param {LimitedRow} row @returns {number | null} */
function meanOf(row) {
  return row.capacity === null ? null : row.capacity.mean_m3_s;
}

/** @param {LimitedRow} row @returns {Waterway} */
function wayOf(row) {
  const share = Math.min(100, ...row.narrowings.map((one) => Number(one.left_pct))) / 100;
  return waterway(
    { .../** @type {LaidBore} */ (row.laid), deposit_m: 0 },
    wallOf(Number(row.roughness_mm)),
    share
  );
}

/**
 * What it carries with its fall moved by so much; 0 where that leaves it level.
 * @param {InvertLine} line
 * @param {Waterway} way
 * @param {number} gradient
 * @param {number} by
 * @returns {number}
 */
function tilted(line, way, gradient, by) {
  const moved = Math.min(1, gradient + by / line.places_m[line.places_m.length - 1]);
  if (moved < LEVEL) return 0;
  return carriedFull(linePieces(line, way, by), fullFlow(way.bore, moved, way.resistance).discharge_m3_s)
    .discharge_m3_s;
}

/**
 * @param {InvertLine} line
 * @param {Waterway} way
 * @param {number} even
 * @param {number} by
 * @returns {number}
 */
function bowed(line, way, even, by) {
  return carriedFull(linePieces(line, way, 0, by), even).discharge_m3_s;
}

/** @param {number} roughnessMm @returns {import('./resistance.js').Resistance} */
function wallOf(roughnessMm) {
  return { law: 'colebrook_white', roughness_m: roughnessMm / 1000 };
}

/** @param {number} more @param {number} less @returns {number} */
function log(more, less) {
  if (more <= 0) return 0;
  return less <= 0 ? Infinity : Math.max(0, Math.log(more / less));
}
