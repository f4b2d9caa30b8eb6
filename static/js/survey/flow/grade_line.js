/**
 * The water surface, or the hydraulic grade line under pressure, up a pipe of changing fall and bore. Twin of
 * webapp/survey/flow/grade_line.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { Running } from './waterway.js';

/** @typedef {import('./waterway.js').FlowState} State */
/** @typedef {{length_m: number, fall_m: number, way: import('./waterway.js').Waterway}} Piece */

const [MIN_STEP, GROWTH, MAX_STEP] = [0.1, 1.6, 3]; // steps in heights of the bore: above a control, then on
const MAX_STEPS = 150;
const CONTRACTION = 0.5; // of the gain of velocity head, entering a smaller bore

/** @param {Piece[]} pieces @param {number} dischargeM3S @param {number} outletDepthM
 * @returns {{depths_m: number[], head_m: number, control: boolean}} */
export function gradeLine(pieces, dischargeM3S, outletDepthM) {
  const states = [...ends(pieces, dischargeM3S, outletDepthM)];
  const last = states[states.length - 1];
  return { depths_m: states.map((one) => one.depth_m), head_m: last.head_m, control: last.control };
}

/**
 * @param {Piece[]} pieces
 * @param {number} dischargeM3S
 * @param {number} outletDepthM
 * @param {number} aboveM
 * @returns {number | null}
 */
export function firstOverCrown(pieces, dischargeM3S, outletDepthM, aboveM) {
  let piece = pieces.length;
  for (const state of ends(pieces, dischargeM3S, outletDepthM)) {
    if (piece < pieces.length && state.depth_m > pieces[piece].way.bore.height_m + aboveM) return piece;
    piece -= 1;
  }
  return null;
}

/**
 * The states at the outlet and at the upper end of each piece, upstream last.
 * @param {Piece[]} pieces
 * @param {number} discharge
 * @param {number} outletDepth
 * @returns {Generator<State>}
 */
function* ends(pieces, discharge, outletDepth) {
  if (pieces.length === 0) throw new SurveyError('no_pieces', 'pieces');
  for (const [k, piece] of pieces.entries()) {
    numberBetween(piece.length_m, 1e-6, 1e6, `pieces.${k}`, 'length_out_of_range');
    numberBetween(piece.fall_m, -1e4, 1e4, `pieces.${k}`, 'fall_out_of_range');
  }
  numberBetween(outletDepth, 0, 1e4, 'outlet_depth_m', 'depth_out_of_range');
  const total = pieces.reduce((sum, piece) => sum + piece.length_m, 0);
  let running = new Running(pieces[pieces.length - 1].way, discharge);
  let state = running.atDepth(outletDepth);
  let step = 0;
  yield state;
  for (let k = pieces.length - 1; k >= 0; k -= 1) {
    const piece = pieces[k];
    if (piece.way !== running.way) {
      running = new Running(piece.way, discharge);
      state = across(running, state);
    }
    const height = piece.way.bore.height_m;
    const longest = Math.max(MAX_STEP * height, total / MAX_STEPS);
    step = state.control ? MIN_STEP * height : Math.max(step, MIN_STEP * height);
    [state, step] = up(running, state, piece, step, longest);
    yield state;
  }
}

/**
 * From the lower to the upper end of a piece, in growing steps.
 * @param {Running} running
 * @param {State} from
 * @param {Piece} piece
 * @param {number} first
 * @param {number} longest
 * @returns {[State, number]}
 */
function up(running, from, piece, first, longest) {
  const gradient = piece.fall_m / piece.length_m;
  let [state, step, left] = [from, first, piece.length_m];
  while (left > 0) {
    // steep: the water stays at or below the critical depth
    if (state.control && gradient >= state.slope) return [state, step];
    let here = Math.min(step, left);
    if (left - here < 0.2 * here) here = left;
    state = running.atHead(state.head_m - here * gradient, here, state.slope);
    left = here === left ? 0 : left - here;
    step = Math.min(longest, step * GROWTH);
  }
  return [state, step];
}

/** From the upper end of one waterway into the lower end of the next one upstream.
 * @param {Running} upper @param {State} state @returns {State} */
function across(upper, state) {
  const below = state.head_m - state.depth_m;
  const first = upper.atHead(state.head_m, 0, 0);
  const above = first.head_m - first.depth_m;
  // the water leaves a smaller bore: the velocity head is lost
  if (above >= below) return upper.atDepth(state.depth_m);
  return upper.atHead(state.head_m + CONTRACTION * (below - above), 0, 0);
}
