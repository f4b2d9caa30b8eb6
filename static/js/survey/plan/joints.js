/** Joints that nobody observed, along a run. Twin of webapp/survey/plan/joints.py. */
import { numberBetween } from '../numbers/checks.js';
import { chainageM } from '../instruments/counter.js';
import { finite } from '../numbers/finite.js';

/** @typedef {{chainage_m: number, sd_deg: number}} Joint */
/**
 * @typedef {{from_m: number, to_m: number, pipe_m: number, pipe_known: string, material: string, sd_deg:
 *   number, count: number}} JointLength
 */
/** @typedef {{zero_m: number, scale: number, length_m: number}} Span */
/** @typedef {import('../../records/types.js').StretchFields} Fields */
/** @typedef {import('../../records/tables.js').JointDeflection} JointRow */

const CLOSE_M = 1e-9;
const [MIN_PIPE_M, MAX_PIPE_M] = [0.05, 1000];
const MIN_SD_DEG = 1; // of a joint of pipes shorter than the table's

/**
 * @param {Array<{fields: Fields}>} stretches
 * @param {Span} span
 * @param {JointRow[]} rows of tables/joint_deflections.json
 * @param {number[]} observedM
 * @returns {{joints: Joint[], lengths: JointLength[]}}
 */
export function jointsAlong(stretches, span, rows, observedM) {
  const byMaterial = new Map(rows.map((row) => [row.material, row]));
  const every = byMaterial.get('');
  /** @type {Joint[]} */
  const joints = [];
  /** @type {JointLength[]} */
  const lengths = [];
  if (!every) return { joints, lengths };
  for (const [fromM, toM, fields] of piecesOf(stretches, span)) {
    const material = fields.material || '';
    const row = byMaterial.get(material) ?? every;
    const own = fields.pipe_unit_length_m ?? null;
    const pipeM = numberBetween(
      own === null ? row.pipe_length_m : own,
      MIN_PIPE_M,
      MAX_PIPE_M,
      'pipe_unit_length_m',
      'pipe_length_out_of_range'
    );
    let sdDeg = row.sd_deg;
    if (pipeM < row.pipe_length_m)
      sdDeg = Math.min(sdDeg, Math.max(MIN_SD_DEG, sdDeg * Math.sqrt(pipeM / row.pipe_length_m)));
    const here = jointsOf(fromM, toM, pipeM, sdDeg, observedM);
    for (const one of here) joints.push(one);
    lengths.push({
      from_m: fromM,
      to_m: toM,
      pipe_m: pipeM,
      pipe_known: own === null ? 'assumed' : 'measured',
      material,
      sd_deg: sdDeg,
      count: here.length
    });
  }
  return { joints, lengths };
}

/**
 * The whole length in pieces, each with the fields of its stretch.
 * @param {Array<{fields: Fields}>} stretches
 * @param {Span} span
 * @returns {Array<[number, number, Fields]>}
 */
function piecesOf(stretches, span) {
  const lengthM = finite(span.length_m, 'length_m');
  /** @type {Array<[number, number, Fields]>} */
  const placed = [];
  for (const { fields } of stretches) {
    const fromM = fields.from_counter_m ?? null;
    const toM = fields.to_counter_m ?? null;
    if (fromM === null) continue;
    placed.push([
      chainageM(fromM, span.zero_m, span.scale),
      toM === null ? lengthM : chainageM(toM, span.zero_m, span.scale),
      fields
    ]);
  }
  placed.sort((a, b) => a[0] - b[0]);
  /** @type {Array<[number, number, Fields]>} */
  const pieces = [];
  let at = 0;
  for (const [start, end, fields] of placed) {
    const [begin, stop] = [Math.max(at, start), Math.min(end, lengthM)];
    if (stop <= begin + CLOSE_M) continue;
    if (begin > at + CLOSE_M) pieces.push([at, begin, {}]);
    pieces.push([begin, stop, fields]);
    at = stop;
  }
  if (lengthM > at + CLOSE_M) pieces.push([at, lengthM, {}]);
  return pieces;
}

/**
 * The joints of one piece.
 * @param {number} fromM
 * @param {number} toM
 * @param {number} pipeM
 * @param {number} sdDeg
 * @param {number[]} observedM
 * @returns {Joint[]}
 */
function jointsOf(fromM, toM, pipeM, sdDeg, observedM) {
  const taken = new Set(
    observedM
      .filter((seen) => fromM - CLOSE_M <= seen && seen <= toM + CLOSE_M)
      .map((seen) => Math.floor((seen - fromM) / pipeM + 0.5))
  );
  const count = Math.ceil((toM - fromM - CLOSE_M) / pipeM);
  const joints = [];
  for (let k = fromM > CLOSE_M ? 0 : 1; k < count; k += 1)
    if (!taken.has(k)) joints.push({ chainage_m: fromM + k * pipeM, sd_deg: sdDeg });
  return joints;
}
