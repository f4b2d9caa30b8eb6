/**
 * What a run carries as it is: by its grade line, with all that narrows it; no number where none can be had.
 * Twin of webapp/survey/flow/capacity_limits.py.
 */
import { LEVEL, capacityBand } from './capacity_band.js';
import { SurveyError } from '../errors.js';
import { invertLine } from './invert_line.js';
import { BLOCKS, narrowings } from './narrowed_lengths.js';
import { reaches } from '../levels/reaches.js';
import { runCarries, stretchCarries, upperCover } from './run_backwater.js';
import { unseenM } from '../coding/visibility.js';
import { wallRoughness } from './wall_roughness.js';
import { bottleneck, withReasons } from './bottleneck.js';

/** @typedef {import('../../records/tables.js').Narrowings} Narrowings */
/** @typedef {import('../../records/tables.js').Roughness} Roughness */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchFields} StretchFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('./narrowing.js').LaidBore} LaidBore */
/** @typedef {import('./run_capacity.js').CapacityRow} CapacityRow */

/**
 * @typedef {CapacityRow & {carries: {gradient: number | null, roughness_mm: number | null}, laid:
 *   LaidBore | null, roughness_low_mm: number | null, roughness_high_mm: number |
 *   null, narrowings: import('./narrowed_lengths.js').Narrowing[], backfall:
 *   import('../levels/reaches.js').Backfall | null, spread: Object<string, number | null> | null, even_m3_s:
 *   number | null, first_full_m: number | null}} LimitedRow
 * @typedef {{run: RunFields, stretches: StretchRecord[], observations:
 *   ObservationRecord[], items: import('../coding/continuous.js').ContinuousItem[], visibility:
 *   import('../coding/visibility.js').Visibility, end_counter_m: number | null, profile:
 *   import('../levels/levels.js').LevelProfile | null, scale: number, nodes?: NodeRecord[], tied?: boolean}}
 *   CapacityFacts
 * @typedef {{flow: string, flow_known: string, rows: LimitedRow[], bottleneck:
 *   import('./run_capacity.js').RunBottleneck | null, whole: import('./run_backwater.js').RunCarries | null}}
 *   LimitedCapacity
 * @typedef {import('./invert_line.js').InvertLine} InvertLine
 */

const MIN_M = 0.005;
const NONE = { low_m3_s: null, mean_m3_s: null, high_m3_s: null, known: 'unknown' };

/**
 * @param {import('./run_capacity.js').PlainCapacity} found
 * @param {CapacityFacts} facts
 * @param {Roughness[]} roughnessRows
 * @param {Narrowings} table
 * @returns {LimitedCapacity}
 */
export function limitedCapacity(found, facts, roughnessRows, table) {
  const byId = new Map(facts.stretches.map((one) => [one.id, one.fields]));
  const lines = found.rows.map((row) =>
    row.from_m === null || row.to_m === null
      ? null
      : invertLine(facts.profile, row.from_m, row.to_m, found.flow)
  );
  const rows = found.rows.map((row, k) =>
    rowOf(row, byId.get(row.id) ?? {}, [found.flow, lines[k]], facts, roughnessRows, table)
  );
  return {
    ...found,
    rows,
    bottleneck: rows.length ? withReasons(bottleneck(rows), rows) : null,
    whole: wholeOf(rows, lines, found.flow, facts)
  };
}

/**
 * What all stretches carry together; with the cover at the upper end where its level is known.
 * @param {LimitedRow[]} rows
 * @param {Array<InvertLine | null>} lines
 * @param {string} flow
 * @param {CapacityFacts} facts
 */
function wholeOf(rows, lines, flow, facts) {
  const known = facts.tied ? upperCover(facts.run, facts.nodes ?? [], flow) : null;
  const stations = facts.profile?.stations ?? [];
  const station = flow === 'with_flow' ? stations[0] : stations[stations.length - 1];
  const cover =
    known === null || !station || station.level_m === null ? null : { ...known, invert_m: station.level_m };
  try {
    return runCarries(rows, lines, flow, cover);
  } catch (error) {
    if (error instanceof SurveyError) return null;
    throw error;
  }
}

/**
 * @param {CapacityRow} plain
 * @param {StretchFields} fields
 * @param {[string, InvertLine | null]} along
 * @param {CapacityFacts} facts
 * @param {Roughness[]} roughnessRows
 * @param {Narrowings} table
 * @returns {LimitedRow}
 */
function rowOf(plain, fields, along, facts, roughnessRows, table) {
  /** @type {LimitedRow} */
  const row = {
    ...plain,
    carries: { gradient: plain.gradient, roughness_mm: plain.roughness_mm },
    laid: null,
    roughness_low_mm: null,
    roughness_high_mm: null,
    narrowings: [],
    backfall: null,
    spread: null,
    even_m3_s: null,
    first_full_m: null
  };
  if (row.from_m === null || row.to_m === null) return row;
  /** @type {[number, number]} */
  const ends = [fields.from_counter_m ?? 0, fields.to_counter_m ?? 0];
  const inside = facts.observations.filter((one) => {
    const atM = one.fields.counter_m ?? null;
    return atM !== null && ends[0] <= atM && atM <= ends[1];
  });
  const wall = wallRoughness(fields, inside, facts.run.water_carried ?? null, roughnessRows);
  const assumed = row.gradient_known === 'assumed';
  const falls = reaches(facts.profile, row.from_m, row.to_m, along[0]);
  Object.assign(row, {
    roughness_low_mm: wall.low_mm,
    roughness_mm: wall.mm,
    roughness_high_mm: wall.high_mm,
    roughness_value: wall.value,
    backfall: falls.backfall,
    gradient_low: falls.gradient_low,
    gradient: falls.gradient,
    gradient_high: falls.gradient_high,
    gradient_known: assumed && falls.known === 'computed' ? 'assumed' : falls.known
  });
  if (row.left_out !== null && row.left_out !== 'bore_blocked') return { ...row, capacity: null };
  const width = fields.width_mm ?? null;
  const laid = {
    kind: fields.shape ?? '',
    height_m: (fields.height_mm ?? 0) / 1000,
    width_m: width === null ? null : width / 1000
  };
  row.laid = laid;
  row.narrowings = narrowings(
    facts.observations,
    facts.items,
    ends,
    facts.end_counter_m,
    { bore: laid, ...row.carries },
    table
  );
  row.left_out = withheld(row, facts, ends);
  row.capacity = null;
  if (row.left_out) return row;
  const done = withNumber(row, along[1], wall);
  if (done.capacity && !facts.visibility.looked) done.capacity.findings.push('bore_not_looked_at');
  return done;
}

/**
 * Why no number can be had, the gravest reason first.
 * @param {LimitedRow} row
 * @param {CapacityFacts} facts
 * @param {[number, number]} ends
 * @returns {string | null}
 */
function withheld(row, facts, ends) {
  const taken = row.narrowings;
  if (taken.some((one) => one.form === BLOCKS)) return 'bore_collapsed';
  if (taken.some((one) => one.most_pct <= 0) || row.left_out === 'bore_blocked') return 'bore_blocked';
  const unseen = unseenM({ ...facts.visibility, looked: true }, ends[0], ends[1], facts.scale);
  if (unseen !== null && unseen > MIN_M) return 'length_not_seen';
  if (taken.some((one) => one.size === null)) return 'narrowing_without_size';
  if (row.gradient_known === 'bounded') return 'fall_only_bounded';
  return null;
}

/**
 * @param {LimitedRow} row
 * @param {InvertLine | null} line
 * @param {import('./wall_roughness.js').Wall} wall
 * @returns {LimitedRow}
 */
function withNumber(row, line, wall) {
  const average = row.carries.gradient;
  if (average === null || average < LEVEL) {
    const code =
      average === null ? 'gradient_unknown' : average > -LEVEL ? 'gradient_level' : 'gradient_adverse';
    return { ...row, capacity: { ...NONE, findings: [code] } };
  }
  if (line === null) return { ...row, left_out: 'fall_only_bounded' };
  const bore = { .../** @type {LaidBore} */ (row.laid), deposit_m: 0 };
  const shares = row.narrowings.map((one) => one.left_pct);
  const least = Math.min(100, ...row.narrowings.map((one) => one.least_pct)) / 100;
  const most = Math.min(100, ...row.narrowings.map((one) => one.most_pct)) / 100;
  const likely = shares.includes(null) ? null : Math.min(100, ...shares.map(Number)) / 100;
  /** @type {[number, number, number] | null} */
  const left = likely === null ? null : [Math.min(least, likely), likely, Math.max(most, likely)];
  let clean;
  let band;
  try {
    clean = stretchCarries(line, bore, wall.mm);
    band = capacityBand(bore, row.size_known, { ...clean, left }, wall);
  } catch (error) {
    if (error instanceof SurveyError) return { ...row, left_out: error.code };
    throw error;
  }
  if (clean.mean_m3_s <= 0) return { ...row, left_out: 'sag_fills_bore', first_full_m: clean.at_m };
  const [low, high] = left ? [1, 1] : [least, most];
  const known = likely === null ? 'bounded' : row.gradient_known === 'assumed' ? 'assumed' : 'computed';
  const capacity = {
    low_m3_s: band.low_m3_s * low,
    mean_m3_s: left ? band.mean_m3_s : null,
    high_m3_s: band.high_m3_s * high,
    known,
    findings: [...band.findings, ...findingsOf(row, clean.low_m3_s)]
  };
  return { ...row, capacity, spread: band.spread, even_m3_s: clean.even_m3_s, first_full_m: clean.at_m };
}

/** @param {LimitedRow} row @param {number | null} lowM3S @returns {string[]} */
function findingsOf(row, lowM3S) {
  const found = lowM3S === null ? ['gradient_may_be_adverse'] : [];
  if (row.backfall !== null) found.push('backfall_in_it');
  if (row.narrowings.some((one) => one.form === 'deposit_depth')) found.push('bed_taken_as_rough_as_wall');
  return found;
}
