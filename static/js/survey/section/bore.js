/**
 * The bore: its kind and sizes, and the arcs and lines of its outline. Twin of webapp/survey/section/bore.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';

/** @typedef {{kind: string, height_m: number, width_m?: number | null, deposit_m?: number}} Bore */
/** @typedef {{low_m: number, high_m: number, cx: number, base: number, a: number, b: number}} Piece */

export const KINDS = ['circular', 'elliptical', 'egg', 'rectangular', 'oval', 'arch', 'u_shape'];
export const MIN_M = 0.001;
export const MAX_M = 100;
const FLATTEST = 3; // an ellipse longer than this against its height is no deformed pipe

/** @param {Bore} bore @returns {[Piece[], number, number]} */
export function outlinePieces(bore) {
  if (!KINDS.includes(bore.kind)) throw new SurveyError('shape_unknown', 'kind');
  const height = numberBetween(bore.height_m, MIN_M, MAX_M, 'height_m', 'size_out_of_range');
  const width = numberBetween(widthOf(bore), MIN_M, MAX_M, 'width_m', 'size_out_of_range');
  const deposit = bore.deposit_m === undefined ? 0 : bore.deposit_m;
  numberBetween(deposit, 0, height, 'deposit_m', 'deposit_out_of_range');
  if (deposit >= height) throw new SurveyError('deposit_out_of_range', 'deposit_m');
  const r = width / 2;
  const pieces = bore.kind === 'egg' ? egg(height, r) : piecesOf(bore.kind, height, r);
  const bed = bore.kind === 'rectangular' || bore.kind === 'arch' ? width : 0;
  const roof = bore.kind === 'rectangular' || bore.kind === 'u_shape' ? width : 0;
  return [pieces.filter((p) => p.high_m > p.low_m), bed, roof];
}

/** @param {Bore} bore @returns {number} */
function widthOf(bore) {
  if (bore.width_m !== null && bore.width_m !== undefined) return bore.width_m;
  if (bore.kind === 'egg') return (bore.height_m * 2) / 3;
  if (bore.kind === 'circular') return bore.height_m;
  throw new SurveyError('size_out_of_range', 'width_m');
}

/**
 * @param {number} lowM
 * @param {number} highM
 * @param {number} cx
 * @param {number} base
 * @param {number} a
 * @param {number} b
 * @returns {Piece}
 */
function piece(lowM, highM, cx, base, a, b) {
  return { low_m: lowM, high_m: highM, cx, base, a, b };
}

/** @param {string} kind @param {number} height @param {number} r @returns {Piece[]} */
function piecesOf(kind, height, r) {
  if (kind === 'circular') {
    if (height !== 2 * r) throw new SurveyError('circle_not_round', 'width_m');
    return [piece(0, height, 0, 0, r, r)];
  }
  if (kind === 'elliptical') {
    if (Math.max((2 * r) / height, height / (2 * r)) > FLATTEST)
      throw new SurveyError('ellipse_too_flat', 'width_m');
    return [piece(0, height, 0, 0, r, height / 2)];
  }
  if (kind === 'rectangular') return [piece(0, height, r, 0, 0, 0)];
  if (kind === 'oval' && height < 2 * r) throw new SurveyError('oval_too_low', 'height_m');
  const flat = height >= r ? r : (r * r + height * height) / (2 * height);
  const rise = Math.min(r, height);
  const invert = piece(0, rise, 0, 0, flat, flat);
  const crown = piece(height - rise, height, 0, height - 2 * flat, flat, flat);
  if (kind === 'oval') return [invert, piece(r, height - r, r, 0, 0, 0), crown];
  if (kind === 'arch') return [piece(0, height - rise, r, 0, 0, 0), crown];
  return [invert, piece(rise, height, r, 0, 0, 0)];
}

/** @param {number} height @param {number} r @returns {Piece[]} */
function egg(height, r) {
  if (!(height > 2 * r * (1 + 1e-9))) throw new SurveyError('egg_too_low', 'height_m');
  const low = r / 2;
  const centres = height - r - low;
  const flank = (r * r - low * low + centres * centres) / (2 * (r - low));
  const touch = low * (1 - centres / (flank - low));
  const spring = height - r;
  return [
    piece(0, touch, 0, 0, low, low),
    piece(touch, spring, r - flank, spring - flank, flank, flank),
    piece(spring, height, 0, height - 2 * r, r, r)
  ];
}
