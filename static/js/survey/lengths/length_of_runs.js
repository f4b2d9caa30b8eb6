/**
 * The runs of one length put together: its records, what was seen, how far it was surveyed. Twin of
 * webapp/survey/lengths/length_of_runs.py.
 */
import { continuousItems } from '../coding/continuous.js';
import { chainageM } from '../instruments/counter.js';
import { checkFarLength } from '../instruments/counter_scale.js';
import { SurveyError } from '../errors.js';
import { withheldBottleneck } from '../flow/whole_run.js';
import { instrumentsOf } from '../instruments/instruments.js';
import { inLength, itemsInLength, lengthCounter, observationsInLength } from './records.js';
import { lengthSight } from './sight.js';
import { fromOtherEnd, lengthJoin } from './pipe_length.js';
import { closedStretches, endedRun } from '../coding/run_end.js';
import { runExtent } from '../plan/run_extent.js';
import { countedOnce, perhapsSame, sharedObjects } from './same_objects.js';
import { visibility } from '../coding/visibility.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').FieldsByName} Fields */
/** @typedef {import('./pipe_length.js').LengthJoin} LengthJoin */
/** @typedef {import('../flow/whole_run.js').RunCapacity} RunCapacity */
/** @typedef {import('./records.js').LengthFrame} LengthFrame */
/** @typedef {import('../../records/types.js').CheckRecord} CheckRecord */
/** @typedef {import('../coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {import('../../records/tables.js').VisibilityTable} VisibilityTable */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/**
 * @typedef {{readings: import('../../records/types.js').ReadingRecord[], level_ties:
 *   import('../../records/types.js').LevelTieRecord[], stretches: StretchRecord[], observations:
 *   import('../../records/types.js').ObservationRecord[]}} PieceRecords
 * @typedef {PieceRecords & {run_id: string, fields: RunFields, erased?: StretchRecord[]}} PieceRun
 */
/**
 * @typedef {{run: PieceRun, fields: RunFields, instruments:
 *   import('../instruments/instruments.js').Instruments, extent: import('../plan/run_extent.js').RunExtent,
 *   stretches: StretchRecord[], items: ContinuousItem[], turned: boolean,
 *   from_m: number}} Piece
 * @typedef {PieceRecords & {pieces: Piece[], join: LengthJoin, frames: LengthFrame[], run: RunFields, extent:
 *   import('../plan/run_extent.js').RunExtent | null, items: ContinuousItem[], visibility:
 *   import('../coding/visibility.js').Visibility | null, repeats: Object<string, string>, perhaps:
 *   string[][]}} WholeLength
 */

const PASSED_M = 0.5; // a run that went further than this beyond the end of another found it open
export const STOPPED = 'ended_at_obstruction';
const AROUND = ['water_carried', 'protection_zone', 'groundwater', 'soil', 'next_steps'];

/**
 * @param {PieceRun[]} runs
 * @param {CheckRecord[]} checks
 * @param {VisibilityTable} table
 * @param {string[]} counted
 * @returns {WholeLength}
 */
export function lengthOfRuns(runs, checks, table, counted) {
  const pieces = piecesOf(runs, checks, table);
  const shared = sharedObjects(
    pieces.map((one) => one.run.observations),
    pieces.map(chainages)
  );
  const join = lengthJoin(pieces.map(facts), shared);
  /** @type {WholeLength} */
  const none = {
    pieces,
    join,
    frames: [],
    run: {},
    extent: null,
    readings: [],
    level_ties: [],
    stretches: [],
    observations: [],
    items: [],
    visibility: null,
    repeats: {},
    perhaps: []
  };
  const { length_m: lengthM } = join;
  if (lengthM === null) return none;
  const frames = pieces.map((one) => frameOf(pieces[0], one, lengthM));
  const seen = pieces.map((one, k) =>
    observationsInLength(one.run.observations, one.items, one.extent.end_counter_m, frames[k])
  );
  const items = pieces.flatMap((one, k) => itemsInLength(one.items, one.extent.end_counter_m, frames[k]));
  const [observations, together, repeats] = countedOnce(seen.flat(), items);
  const both = pieces.some((one) => one.turned);
  const run = runOf(pieces, join, both);
  return {
    pieces,
    join,
    frames,
    run,
    extent: extentOf(pieces, join, both, Number(run.end_counter_m)),
    readings: pieces.flatMap((one, k) => one.run.readings.map((r) => inLength('reading', r, frames[k]))),
    level_ties: pieces.flatMap((one, k) =>
      one.run.level_ties.map((r) => inLength('level_tie', r, frames[k]))
    ),
    stretches: pieces.flatMap((one, k) => one.stretches.map((r) => inLength('stretch', r, frames[k]))),
    observations,
    items: together,
    visibility: lengthSight(
      pieces.map((one) => accountOf(one, table)),
      frames,
      pieces.map(lookedOf)
    ),
    repeats,
    perhaps: perhapsSame(seen, counted, repeats)
  };
}

/** @param {PieceRun[]} runs @param {CheckRecord[]} checks @param {VisibilityTable} table
 * @returns {Piece[]} */
function piecesOf(runs, checks, table) {
  /** @type {Piece[]} */
  const found = [];
  for (const run of runs) {
    const instruments = instrumentsOf(checks, run.run_id);
    const fields = endedRun(run.fields, run.observations);
    const extent = runExtent(fields, run.readings, run.observations, instruments);
    const end = extent.end_counter_m;
    const turned = found.length > 0 && fromOtherEnd(runs[0].fields, run.fields);
    /** @type {Piece} */
    const piece = {
      run,
      fields,
      instruments,
      extent,
      stretches: closedStretches(run.stretches, end),
      items: continuousItems(run.observations, end).items,
      turned,
      from_m: 0
    };
    const before = found.filter((one) => one.turned === turned).map((one) => one.extent.surveyed_m ?? 0);
    found.push(before.length ? { ...piece, from_m: looksFrom(piece, before, table) } : piece);
  }
  return found;
}

/**
 * A run that passed what an earlier one saw looked from its first record of the wall on.
 * @param {Piece} piece
 * @param {number[]} before
 * @param {VisibilityTable} table
 */
function looksFrom(piece, before, table) {
  const blind = [...table.view_lost_codes, ...table.node_codes, table.water_code];
  const places = chainages(piece);
  const looked = piece.run.observations
    .filter((one) => one.fields.code && !blind.includes(one.fields.code) && one.id in places)
    .map((one) => places[one.id]);
  return Math.max(0, Math.min(Math.max(...before), ...looked));
}

/** @param {Piece} piece @returns {Object<string, number>} */
function chainages(piece) {
  const zero = piece.fields.counter_zero_m || 0;
  return Object.fromEntries(
    piece.run.observations
      .filter((one) => (one.fields.counter_m ?? null) !== null)
      .map((one) => [one.id, chainageM(Number(one.fields.counter_m), zero, piece.instruments.scale)])
  );
}

/** @param {Piece} piece @returns {import('./pipe_length.js').LengthPiece} */
function facts(piece) {
  return {
    turned: piece.turned,
    from_m: piece.from_m,
    to_m: piece.extent.surveyed_m,
    reached: piece.fields.end_reason === 'node_reached',
    expected_m: piece.fields.expected_length_m ?? null
  };
}

/** @param {Piece} first @param {Piece} piece @param {number} lengthM @returns {LengthFrame} */
function frameOf(first, piece, lengthM) {
  return {
    zero_m: piece.fields.counter_zero_m || 0,
    scale: piece.instruments.scale,
    turned: piece.turned,
    length_m: lengthM,
    onto_zero_m: first.fields.counter_zero_m || 0,
    onto_scale: first.instruments.scale,
    shift_deg: piece.instruments.zero_deg - first.instruments.zero_deg
  };
}

/**
 * Fields of the length: those of the first run, what only others say, and its end.
 * @param {Piece[]} pieces
 * @param {LengthJoin} join
 * @param {boolean} both
 * @returns {RunFields}
 */
function runOf(pieces, join, both) {
  const [first] = pieces;
  const far = farthest(pieces);
  /** @type {Fields} */
  const { least_end_counter_m: _, ...fields } = first.fields; // of one run, where its end is in dispute
  for (const name of AROUND) {
    const stated = pieces
      .map((one) => /** @type {Fields} */ (one.fields)[name] ?? null)
      .find((value) => value !== null);
    if (stated !== undefined) fields[name] = stated;
  }
  const other = pieces.find((one) => one.turned)?.fields.start_node_id ?? null;
  return {
    ...fields,
    finish_node_id: first.fields.finish_node_id || other || (far.fields.finish_node_id ?? null),
    expected_length_m: join.expected_m,
    end_counter_m: (first.fields.counter_zero_m || 0) + (join.length_m ?? 0) / first.instruments.scale,
    end_reason: both ? 'node_reached' : (far.fields.end_reason ?? null)
  };
}

/** @param {Piece[]} pieces @returns {Piece} */
function farthest(pieces) {
  return pieces.reduce(
    (best, one) => ((one.extent.surveyed_m ?? 0) > (best.extent.surveyed_m ?? 0) ? one : best),
    pieces[0]
  );
}

/**
 * @param {Piece[]} pieces
 * @param {LengthJoin} join
 * @param {boolean} both
 * @param {number} endCounterM
 * @returns {import('../plan/run_extent.js').RunExtent}
 */
function extentOf(pieces, join, both, endCounterM) {
  const provenance = pieces.every((one) => one.extent.surveyed_known === 'measured') ? 'measured' : 'assumed';
  const lengthM = join.length_m ?? 0;
  const { expected_m: expectedM } = join;
  /** @type {import('../plan/run_extent.js').RunExtent} */
  const found = {
    end_counter_m: endCounterM,
    surveyed_m: join.surveyed_m,
    surveyed_known: provenance,
    expected_m: expectedM,
    remaining_m: null,
    far_check: null
  };
  if (expectedM === null || ['expected', 'obstruction'].includes(join.how)) return found;
  if (both || farthest(pieces).fields.end_reason === 'node_reached') {
    try {
      found.far_check = checkFarLength(lengthM, expectedM);
    } catch (error) {
      if (!(error instanceof SurveyError)) throw error;
    }
  } else if (expectedM > lengthM) found.remaining_m = expectedM - lengthM;
  return found;
}

/** @param {Piece} piece @param {VisibilityTable} table */
function accountOf(
  { fields: run, stretches, run: { observations, erased }, items, extent, instruments },
  table
) {
  const { end_counter_m } = extent;
  const { scale } = instruments;
  return visibility({ run, stretches, observations, items, end_counter_m, scale, erased }, table);
}

/**
 * From where to where a piece looked, by its own counter.
 * @param {Piece} piece
 * @returns {[number, number]}
 */
function lookedOf(piece) {
  const zero = piece.fields.counter_zero_m || 0;
  return [zero + piece.from_m / piece.instruments.scale, piece.extent.end_counter_m ?? zero];
}

/** @param {WholeLength} whole @returns {number[]} */
export function stoppedCounters(whole) {
  const ends = whole.pieces.slice(0, whole.frames.length).flatMap((one, k) => {
    const end = one.extent.end_counter_m;
    return end === null ? [] : [{ at: lengthCounter(end, whole.frames[k]), one }];
  });
  const stopped = ends.filter(({ one }) => one.fields.end_reason === 'obstruction');
  const left = stopped.filter(({ at, one }) => !ends.some((other) => other.one !== one && beyond(at, other)));
  const wholeWay = whole.pieces.some((one) => one.fields.end_reason === 'node_reached');
  return (left.length || wholeWay ? left : stopped).map(({ at }) => at);
}

/**
 * Whether another run ended beyond a place, in its own direction.
 * @param {number} at
 * @param {{at: number, one: Piece}} other
 */
function beyond(at, other) {
  return (other.one.turned ? at - other.at : other.at - at) > PASSED_M;
}

/**
 * @param {RunCapacity} capacity
 * @param {LengthJoin} join
 * @param {boolean} stopped
 * @returns {RunCapacity}
 */
export function withheldBetween(capacity, join, stopped) {
  const limits = capacity.limits ?? [];
  let found = { ...capacity };
  if (stopped)
    found = { ...found, limits: limits.includes(STOPPED) ? limits : [...limits, STOPPED], whole: null };
  if (capacity.bottleneck && join.between.length)
    found = {
      ...found,
      bottleneck: withheldBottleneck(capacity.bottleneck.no_number),
      whole: null
    };
  return found;
}
