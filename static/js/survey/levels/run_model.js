/** From the records of a run to the model of its levels. Twin of webapp/survey/levels/run_model.py. */
import { chainageM } from '../instruments/counter.js';
import { inclinationDeg } from '../instruments/gradient.js';
import { ASSUMED } from '../instruments/instruments.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */
/** @typedef {import('./input.js').LevelReading} LevelReading */
/** @typedef {import('./input.js').LevelTie} LevelTie */
/** @typedef {import('../../records/types.js').LevelTieRecord} LevelTieRecord */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {[LevelReading, string]} Placed */
/** @typedef {[LevelTie, string, string]} Tied */
/**
 * @typedef {{setup: import('./input.js').LevelSetup, readings: LevelReading[], reading_ids: string[], ties:
 *   LevelTie[], tie_ids: string[], tie_known: string[], zero_m: number, end_chainage_m: number | null,
 *   left_out: Array<{id: string, code: string}>}} RunModel
 */

const SAME_END_M = 0.5; // a level tie nearer to a node than this stands for the node's own dip

/**
 * @param {RunFields} run fields of the run
 * @param {ReadingRecord[]} readings
 * @param {LevelTieRecord[]} levelTies
 * @param {StretchRecord[]} stretches
 * @param {NodeRecord[]} nodes
 * @param {Instruments} instruments
 * @returns {RunModel}
 */
export function runModel(run, readings, levelTies, stretches, nodes, instruments) {
  const zeroM = run.counter_zero_m || 0;
  const [pairs, leftOut] = placedReadings(readings, zeroM, instruments.scale);
  const endM = run.end_counter_m ?? null;
  const end = endM === null ? null : chainageM(endM, zeroM, instruments.scale);
  const ties = [
    ...tiesOf(levelTies, zeroM, instruments.scale, leftOut),
    ...nodeTies(run, nodes, levelTies, end, instruments, zeroM)
  ];
  let farthest = 0;
  for (const [reading] of pairs) farthest = Math.max(farthest, reading.chainage_m);
  for (const [tie] of ties) farthest = Math.max(farthest, tie.chainage_m);
  const lastM = end === null || end < farthest ? null : end;
  const pipes = pipesOf(stretches, zeroM, instruments.scale);
  return {
    setup: {
      mode: pipes.some((one) => one.unit_m !== null) ? 'course' : 'trapezoid',
      start_chainage_m: 0,
      start_level_m: null,
      start_sd_m: 0,
      sd_deg: instruments.sd_deg,
      zero_sd_deg: instruments.zero_sd_deg,
      scale_sd: instruments.scale_sd,
      zero_deg: instruments.zero_deg,
      limit_deg: instruments.limit_deg,
      end_chainage_m: lastM,
      pipes
    },
    readings: pairs.map((p) => p[0]),
    reading_ids: pairs.map((p) => p[1]),
    ties: ties.map((t) => t[0]),
    tie_ids: ties.map((t) => t[1]),
    tie_known: ties.map((t) => t[2]),
    zero_m: zeroM,
    end_chainage_m: end,
    left_out: leftOut
  };
}

/**
 * @param {ReadingRecord[]} readings
 * @param {number} zeroM
 * @param {number} scale
 * @returns {[Placed[], Array<{id: string, code: string}>]}
 */
export function placedReadings(readings, zeroM, scale) {
  /** @type {Placed[]} */
  const found = [];
  /** @type {Array<{id: string, code: string}>} */
  const leftOut = [];
  for (const { id, fields } of readings) {
    const counterM = fields.counter_m ?? null;
    const { inclination } = fields;
    if (counterM === null || !inclination) {
      leftOut.push({ id, code: 'reading_incomplete' });
      continue;
    }
    const where = chainageM(counterM, zeroM, scale);
    if (where < 0) {
      leftOut.push({ id, code: 'before_zero' });
      continue;
    }
    const turned = Boolean(fields.turned);
    const shiftDeg = fields.zero_shift_deg ?? null;
    let deg = inclinationDeg(inclination);
    if (deg !== null && shiftDeg !== null) deg += turned ? shiftDeg : -shiftDeg;
    const over = deg !== null ? 0 : inclination.sense === 'rising' ? 1 : -1;
    found.push([{ chainage_m: where, deg, over, sd_deg: null, to_m: null, turned }, id]);
  }
  found.sort((a, b) => a[0].chainage_m - b[0].chainage_m);
  return [found, leftOut];
}

/**
 * The stretches by chainage, with the length of their single pipes where that is recorded.
 * @param {StretchRecord[]} stretches @param {number} zeroM @param {number} scale
 * @returns {import('./input.js').Pipes[]}
 */
function pipesOf(stretches, zeroM, scale) {
  /** @type {import('./input.js').Pipes[]} */
  const found = [];
  for (const { fields } of stretches) {
    const [fromM, toM] = [fields.from_counter_m ?? null, fields.to_counter_m ?? null];
    if (fromM === null || toM === null || toM <= fromM) continue;
    const [start, end] = [chainageM(fromM, zeroM, scale), chainageM(toM, zeroM, scale)];
    found.push({ from_m: start, to_m: end, unit_m: fields.pipe_unit_length_m ?? null });
  }
  return found;
}

/**
 * Cover level less the dip.
 * @param {import('../../records/types.js').NodeFields} fields
 * @returns {{level_m: number, sd_m: number, known: string} | null}
 */
export function nodeInvert(fields) {
  const [coverM, dipM] = [fields.cover_level_m ?? null, fields.dipped_depth_m ?? null];
  if (coverM === null || dipM === null) return null;
  const [coverSd, dipSd] = [fields.cover_level_sd_m ?? null, fields.dipped_depth_sd_m ?? null];
  const cover = coverSd === null ? ASSUMED.tie_sd_m : coverSd;
  const dip = dipSd === null ? ASSUMED.dip_sd_m : dipSd;
  return {
    level_m: coverM - dipM,
    sd_m: Math.sqrt(cover * cover + dip * dip),
    known: coverSd === null || dipSd === null ? 'assumed' : 'measured'
  };
}

/**
 * @param {LevelTieRecord[]} levelTies
 * @param {number} zeroM
 * @param {number} scale
 * @param {Array<{id: string, code: string}>} leftOut
 * @returns {Tied[]}
 */
function tiesOf(levelTies, zeroM, scale, leftOut) {
  /** @type {Tied[]} */
  const found = [];
  for (const { id, fields } of levelTies) {
    const [counterM, levelM, sdM] = [
      fields.counter_m ?? null,
      fields.invert_level_m ?? null,
      fields.sd_m ?? null
    ];
    if (counterM === null || levelM === null) {
      leftOut.push({ id, code: 'tie_incomplete' });
      continue;
    }
    const where = chainageM(counterM, zeroM, scale);
    if (where < 0) {
      leftOut.push({ id, code: 'before_zero' });
      continue;
    }
    const own = sdM === null ? ASSUMED.tie_sd_m : sdM;
    found.push([
      { chainage_m: where, level_m: levelM, sd_m: own },
      id,
      sdM === null ? 'assumed' : 'measured'
    ]);
  }
  return found;
}

/**
 * Cover level less dip, at the start node and at the finish node if it was reached.
 * @param {RunFields} run
 * @param {NodeRecord[]} nodes
 * @param {LevelTieRecord[]} levelTies
 * @param {number | null} end
 * @param {Instruments} instruments @param {number} zeroM @returns {Tied[]}
 */
function nodeTies(run, nodes, levelTies, end, instruments, zeroM) {
  /** @type {Tied[]} */
  const found = [];
  /** @type {Array<[string | null | undefined, number]>} */
  const ends = [[run.start_node_id, 0]];
  if (end !== null && end > 0 && run.end_reason === 'node_reached') ends.push([run.finish_node_id, end]);
  for (const [nodeId, where] of ends) {
    const fields = nodes.findLast((node) => node.id === nodeId)?.fields ?? {};
    const invert = nodeInvert(fields);
    if (invert === null || tiedNear(levelTies, where, zeroM, instruments.scale)) continue;
    found.push([
      { chainage_m: where, level_m: invert.level_m, sd_m: invert.sd_m },
      String(nodeId),
      invert.known
    ]);
  }
  return found;
}

/**
 * @param {LevelTieRecord[]} levelTies
 * @param {number} where
 * @param {number} zeroM
 * @param {number} scale
 * @returns {boolean}
 */
function tiedNear(levelTies, where, zeroM, scale) {
  return levelTies.some(({ fields }) => {
    const counterM = fields.counter_m ?? null;
    if (counterM === null || (fields.invert_level_m ?? null) === null) return false;
    return Math.abs(chainageM(counterM, zeroM, scale) - where) < SAME_END_M;
  });
}
