/**
 * The bore in section: area, wetted perimeter and top width by depth. Twin of webapp/survey/section/shape.py.
 */
import { outlinePieces } from './bore.js';
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';

/** @typedef {import('./bore.js').Bore} Bore */
/** @typedef {import('./bore.js').Piece} Piece */
/**
 * @typedef {{area_m2: number, wetted_perimeter_m: number, top_width_m: number, hydraulic_radius_m: number}}
 *   Section
 */

const PANELS = 32;
const NODES = [-0.906179845938664, -0.5384693101056831, 0, 0.5384693101056831, 0.906179845938664];
const WEIGHTS = [
  0.23692688505618908, 0.47862867049936647, 0.5688888888888889, 0.47862867049936647, 0.23692688505618908
];

/** @param {Bore} bore @param {number} depthM @param {boolean} [underRoof] @returns {Section} */
export function flowSection(bore, depthM, underRoof = true) {
  const [pieces, flatM, roofM] = outlinePieces(bore);
  const bottom = bore.deposit_m ?? 0;
  const depth = numberBetween(depthM, bottom, bore.height_m, 'depth_m', 'depth_out_of_range');
  const feet = pieces.map(footOf);
  let [area, sides, bed] = [areaBelow(pieces, depth, feet), sidesBelow(pieces, depth), flatM];
  if (bottom > 0) {
    area -= areaBelow(pieces, bottom, feet);
    sides -= sidesBelow(pieces, bottom);
    bed = widthAt(pieces, bottom);
  }
  const perimeter = bed + sides + (underRoof && depth >= bore.height_m ? roofM : 0);
  return {
    area_m2: area,
    wetted_perimeter_m: perimeter,
    top_width_m: widthAt(pieces, depth),
    hydraulic_radius_m: perimeter > 0 ? area / perimeter : 0
  };
}

/** @param {Bore} bore @returns {Section} */
export function fullSection(bore) {
  return flowSection(bore, bore.height_m);
}

/** @param {Bore} bore @param {number} depthM @returns {[number, number]} */
export function areaAndWidth(bore, depthM) {
  return areasAndWidths(bore)(depthM);
}

/**
 * Of one bore, for a search that asks at many depths.
 * @param {Bore} bore
 * @returns {(depthM: number) => [number, number]}
 */
export function areasAndWidths(bore) {
  const pieces = outlinePieces(bore)[0];
  const feet = pieces.map(footOf);
  const bottom = bore.deposit_m ?? 0;
  const hidden = bottom > 0 ? areaBelow(pieces, bottom, feet) : 0;
  return (depthM) => {
    const depth = numberBetween(depthM, bottom, bore.height_m, 'depth_m', 'depth_out_of_range');
    return [areaBelow(pieces, depth, feet) - hidden, widthAt(pieces, depth)];
  };
}

/** @param {Bore} bore @param {number} depthM @returns {number} */
export function perimeterGrowth(bore, depthM) {
  const pieces = outlinePieces(bore)[0];
  const depth = numberBetween(depthM, bore.deposit_m ?? 0, bore.height_m, 'depth_m', 'depth_out_of_range');
  const piece = pieceAt(pieces, depth);
  if (piece.b === 0) return 2;
  const part = share(piece, depth);
  const sine = 2 * Math.sqrt(part * (1 - part));
  if (sine === 0) throw new SurveyError('depth_out_of_range', 'depth_m');
  const run = piece.a * (1 - 2 * part);
  const rise = piece.b * sine;
  return (2 * Math.sqrt(run * run + rise * rise)) / rise;
}

/** @param {Bore} bore @param {number} steps @returns {[number, number][]} */
export function outline(bore, steps) {
  const pieces = outlinePieces(bore)[0];
  const count = Math.floor(numberBetween(steps, 2, 100_000, 'steps', 'steps_out_of_range'));
  /** @type {[number, number][]} */
  const right = [];
  for (let i = 0; i <= count; i += 1) {
    const z = i === count ? bore.height_m : (bore.height_m * (1 - Math.cos((Math.PI * i) / count))) / 2;
    right.push([widthAt(pieces, z) / 2, z]);
  }
  /** @type {[number, number][]} */
  const left = right.map(([x, z]) => [-x, z]);
  return [...right, ...left.reverse()];
}

/**
 * Height above the pole of the arc, as a share of its diameter.
 * @param {Piece} piece
 * @param {number} z
 * @returns {number}
 */
function share(piece, z) {
  return Math.min(1, Math.max(0, (z - piece.base) / piece.b / 2));
}

/** @param {Piece[]} pieces @param {number} z @returns {Piece} */
function pieceAt(pieces, z) {
  let found = pieces[0];
  for (const piece of pieces) if (piece.low_m <= z) found = piece;
  return found;
}

/** @param {Piece[]} pieces @param {number} z @returns {number} */
function widthAt(pieces, z) {
  const piece = pieceAt(pieces, z);
  if (piece.b === 0) return 2 * piece.cx;
  const part = share(piece, z);
  return 2 * (piece.cx + 2 * piece.a * Math.sqrt(part * (1 - part)));
}

/** What `segment` gives at the lower end of an arc. @param {Piece} piece @returns {number} */
function footOf(piece) {
  return piece.b > 0 ? segment(2 * angleAt(piece, piece.low_m)) : 0;
}

/** @param {Piece[]} pieces @param {number} z @param {number[]} feet @returns {number} */
function areaBelow(pieces, z, feet) {
  let area = 0;
  for (const [at, piece] of pieces.entries()) {
    if (z <= piece.low_m) break;
    const top = Math.min(z, piece.high_m);
    area += 2 * piece.cx * (top - piece.low_m);
    if (piece.b > 0) area += ((piece.a * piece.b) / 2) * (segment(2 * angleAt(piece, top)) - feet[at]);
  }
  return area;
}

/** Length of both sides up to a level. @param {Piece[]} pieces @param {number} z @returns {number} */
function sidesBelow(pieces, z) {
  let sides = 0;
  for (const piece of pieces) {
    if (z <= piece.low_m) break;
    const top = Math.min(z, piece.high_m);
    if (piece.b === 0) sides += 2 * (top - piece.low_m);
    else sides += 2 * arc(piece.a, piece.b, angleAt(piece, piece.low_m), angleAt(piece, top));
  }
  return sides;
}

/** Angle at the centre from the foot of the arc. @param {Piece} piece @param {number} z @returns {number} */
function angleAt(piece, z) {
  return 2 * Math.asin(Math.sqrt(share(piece, z)));
}

/** angle - sin(angle), without losing digits where both are small. @param {number} angle @returns {number} */
function segment(angle) {
  if (angle > 0.3) return angle - Math.sin(angle);
  const q = angle * angle;
  const inner = 1 - (q / 72) * (1 - (q / 110) * (1 - q / 156));
  return ((angle * q) / 6) * (1 - (q / 20) * (1 - (q / 42) * inner));
}

/** @param {number} a @param {number} b @param {number} start @param {number} end @returns {number} */
function arc(a, b, start, end) {
  if (a === b) return a * (end - start);
  const half = (end - start) / PANELS / 2;
  let total = 0;
  for (let panel = 0; panel < PANELS; panel += 1) {
    const middle = start + (2 * panel + 1) * half;
    for (let i = 0; i < NODES.length; i += 1) {
      const run = a * Math.cos(middle + half * NODES[i]);
      const rise = b * Math.sin(middle + half * NODES[i]);
      total += WEIGHTS[i] * Math.sqrt(run * run + rise * rise);
    }
  }
  return total * half;
}
