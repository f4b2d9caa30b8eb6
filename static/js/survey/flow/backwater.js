/**
 * What a pipe of changing fall carries: until its grade line reaches the crown, or a level at its head. Twin
 * of webapp/survey/flow/backwater.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { firstOverCrown, gradeLine } from './grade_line.js';

/** @typedef {import('./grade_line.js').Piece} Piece */
/** @typedef {{discharge_m3_s: number, piece: number | null}} CarriedFull */

const OVER_M = 1e-5; // above the crown by more than this
const [MIN_SHARE, MIN_M3_S] = [1e-5, 1e-8];
const HALVINGS = 26;
const ENTRANCE = 0.5; // of the velocity head, from a chamber into the pipe
const DOUBLINGS = 12;

/** @param {Piece[]} pieces @param {number} mostM3S @returns {CarriedFull} */
export function carriedFull(pieces, mostM3S) {
  const most = numberBetween(mostM3S, 1e-7, 1e4, 'most_m3_s', 'flow_out_of_range');
  const crown = pieces.length ? pieces[pieces.length - 1].way.bore.height_m : 0;
  let piece = firstOverCrown(pieces, most, crown, OVER_M);
  if (piece === null) return { discharge_m3_s: most, piece: null };
  let [low, high] = [Math.max(MIN_SHARE * most, MIN_M3_S), most];
  const still = firstOverCrown(pieces, low, crown, OVER_M);
  if (still !== null) return { discharge_m3_s: 0, piece: still };
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    const over = firstOverCrown(pieces, middle, crown, OVER_M);
    if (over === null) low = middle;
    else [high, piece] = [middle, over];
  }
  return { discharge_m3_s: low, piece };
}

/** @param {Piece[]} pieces @param {number} aboveInvertM @param {number} fromM3S @returns {number | null} */
export function carriedToLevel(pieces, aboveInvertM, fromM3S) {
  const start = numberBetween(fromM3S, 1e-7, 1e4, 'from_m3_s', 'flow_out_of_range');
  let [low, high] = [Math.max(MIN_SHARE * start, MIN_M3_S), start];
  if (chamberM(pieces, low) >= aboveInvertM) return null;
  for (let i = 0; i < DOUBLINGS && chamberM(pieces, high) < aboveInvertM; i += 1)
    [low, high] = [high, 2 * high];
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    if (chamberM(pieces, middle) < aboveInvertM) low = middle;
    else high = middle;
  }
  return low;
}

/**
 * Water in the chamber at the upper end, above the invert there.
 * @param {Piece[]} pieces
 * @param {number} discharge
 * @returns {number}
 */
function chamberM(pieces, discharge) {
  const found = gradeLine(pieces, discharge, pieces[pieces.length - 1].way.bore.height_m);
  return found.head_m + ENTRANCE * (found.head_m - found.depths_m[found.depths_m.length - 1]);
}
