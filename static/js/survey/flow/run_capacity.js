/** What each stretch of a run can carry and what chokes it. Twin of webapp/survey/flow/run_capacity.py. */
import { capacity, bottleneck } from './capacity.js';
import { chainageM } from '../instruments/counter.js';
import { deformedCircle } from '../section/deform.js';
import { SurveyError } from '../errors.js';
import { riseValue } from '../levels/values.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */
/** @typedef {import('../levels/levels.js').LevelProfile} LevelProfile */
/** @typedef {import('./capacity.js').Stretch} Stretch */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../records/tables.js').Roughness} Roughness */
/** @typedef {import('../../records/types.js').Material} Material */
/** @typedef {import('../../records/types.js').StretchFields} StretchFields */
/**
 * @typedef {{id: string, from_m: number | null, to_m: number | null, bore: Bore |
 *   null, size_known: string,
 *   roughness_mm: number | null, roughness_known: string, roughness_value: string, deposit_id: string | null,
 *   deposit_pct: number | null, deformation_id: string | null, deformation_pct: number | null, gradient_low:
 *   number | null, gradient: number | null, gradient_high: number | null, gradient_known: string, capacity:
 *   import('./capacity.js').Capacity | null, left_out: string | null}} CapacityRow
 */
/**
 * @typedef {{index: number | null, reasons: import('./capacity.js').Reason[], rivals: number[], no_number:
 *   number[]}} RunBottleneck
 * @typedef {{flow: string, flow_known: string, rows: CapacityRow[], bottleneck: RunBottleneck | null}}
 *   PlainCapacity
 */

const SIGMAS_95 = 1.96;
const KINDS = ['circular', 'egg', 'rectangular', 'oval', 'arch', 'u_shape'];
export const NEED_WIDTH = ['rectangular', 'oval', 'arch', 'u_shape'];
const DEPOSIT = 'BBC';
const OUT_OF_SHAPE = 'BAA';
const ROUGHNESS_MM = 1.5; // assumed where the material says nothing: usual for the design of foul drains

/**
 * @param {RunFields} run
 * @param {StretchRecord[]} stretches
 * @param {ObservationRecord[]} observations
 * @param {Roughness[]} roughnessRows
 * @param {LevelProfile | null} profile @param {Instruments} instruments
 * @returns {PlainCapacity}
 */
export function runCapacity(run, stretches, observations, roughnessRows, profile, instruments) {
  const [flow, flowKnown] = flowOf(run, profile);
  const ground = { roughnessRows, profile, instruments, zeroM: run.counter_zero_m || 0, flow };
  /** @type {CapacityRow[]} */
  const rows = [];
  /** @type {Stretch[]} */
  const usable = [];
  /** @type {number[]} */
  const places = [];
  for (const item of stretches) {
    const [row, stretch] = rowOf(item, observations, ground);
    if (stretch !== null) {
      try {
        row.capacity = capacity(stretch);
        usable.push(stretch);
        places.push(rows.length);
      } catch (error) {
        row.left_out = codeOf(error);
      }
    }
    rows.push(row);
  }
  if (usable.length === 0) return { flow, flow_known: flowKnown, rows, bottleneck: null };
  const { index, reasons, rivals, no_number: none } = bottleneck(usable);
  return {
    flow,
    flow_known: flowKnown,
    rows,
    bottleneck: {
      index: index === null ? null : places[index],
      reasons,
      rivals: rivals.map((i) => places[i]),
      no_number: none.map((i) => places[i])
    }
  };
}

/** @param {unknown} error @returns {string} */
function codeOf(error) {
  if (error instanceof SurveyError) return error.code;
  throw error;
}

/** Which way the water runs: as recorded, or else the way the levels fall.
 * @param {RunFields} run @param {LevelProfile | null} profile @returns {[string, string]} */
function flowOf(run, profile) {
  if (run.direction === 'with_flow' || run.direction === 'against_flow') return [run.direction, 'measured'];
  if (profile === null || profile.stations.length < 2) return ['with_flow', 'assumed'];
  const [first, last] = [profile.stations[0], profile.stations[profile.stations.length - 1]];
  const start = first.level_m === null ? first.low_m : first.level_m;
  const end = last.level_m === null ? last.low_m : last.level_m;
  const rises = start !== null && end !== null && end > start;
  return [rises ? 'against_flow' : 'with_flow', 'assumed'];
}

/**
 * @param {StretchRecord} item
 * @param {ObservationRecord[]} observations
 * @param {{roughnessRows: Roughness[], profile: LevelProfile | null, instruments: Instruments, zeroM: number,
 *   flow: string}} ground what all rows of a run share
 * @returns {[CapacityRow, Stretch | null]}
 */
function rowOf({ id, fields }, observations, { roughnessRows, profile, instruments, zeroM, flow }) {
  /** @type {CapacityRow} */
  const row = {
    id,
    from_m: null,
    to_m: null,
    bore: null,
    size_known: fields.size_known || 'unknown',
    roughness_mm: null,
    roughness_known: 'assumed',
    roughness_value: '',
    deposit_id: null,
    deposit_pct: null,
    deformation_id: null,
    deformation_pct: null,
    gradient_low: null,
    gradient: null,
    gradient_high: null,
    gradient_known: 'unknown',
    capacity: null,
    left_out: null
  };
  const [fromM, toM] = [fields.from_counter_m ?? null, fields.to_counter_m ?? null];
  if (fromM === null || toM === null || toM <= fromM) {
    row.left_out = 'stretch_without_ends';
    return [row, null];
  }
  row.from_m = chainageM(fromM, zeroM, instruments.scale);
  row.to_m = chainageM(toM, zeroM, instruments.scale);
  roughness(row, fields, roughnessRows);
  gradient(row, profile, flow);
  const inside = observations.filter((o) => {
    const counterM = o.fields.counter_m ?? null;
    return counterM !== null && fromM <= counterM && counterM <= toM;
  });
  let original;
  let bore;
  try {
    [original, bore] = bores(row, fields, inside);
  } catch (error) {
    row.left_out = codeOf(error);
    return [row, null];
  }
  row.bore = bore;
  return [
    row,
    {
      bore,
      original,
      resistance: { law: 'colebrook_white', roughness_m: Number(row.roughness_mm) / 1000 },
      gradient_low: row.gradient_low,
      gradient: row.gradient,
      gradient_high: row.gradient_high,
      gradient_known: row.gradient_known
    }
  ];
}

/**
 * As recorded, or else the first row of the table for the material.
 * @param {CapacityRow} row
 * @param {StretchFields} fields
 * @param {Roughness[]} rows
 */
function roughness(row, fields, rows) {
  row.roughness_mm = fields.roughness_mm ?? null;
  if (row.roughness_mm !== null) return;
  row.roughness_mm = ROUGHNESS_MM;
  const found = rows.find(
    (one) => one.materials.includes(/** @type {Material} */ (fields.material)) && one.k_s_mm !== null
  );
  if (found) {
    row.roughness_mm = found.k_s_mm;
    row.roughness_value = found.value;
  }
}

/**
 * The bore as laid, and as it is.
 * @param {CapacityRow} row
 * @param {StretchFields} fields
 * @param {ObservationRecord[]} inside
 * @returns {[Bore, Bore]}
 */
function bores(row, fields, inside) {
  const kind = fields.shape ?? '';
  const [heightMm, widthMm] = [fields.height_mm ?? null, fields.width_mm ?? null];
  if (!KINDS.includes(kind)) throw new SurveyError('shape_not_known', 'shape');
  if (heightMm === null) throw new SurveyError('size_not_known', 'height_mm');
  if (widthMm === null && NEED_WIDTH.includes(kind)) throw new SurveyError('width_not_known', 'width_mm');
  const original = {
    kind,
    height_m: heightMm / 1000,
    width_m: widthMm === null ? null : widthMm / 1000,
    deposit_m: 0
  };
  /** @type {Bore} */
  let bore = original;
  const [squashed, squashedPct] = worst(inside, OUT_OF_SHAPE);
  if (squashed !== null && kind === 'circular') {
    const sideways = squashed.fields.characterisation_1 === 'B';
    bore = { deposit_m: 0, ...deformedCircle(original.height_m, sideways ? -squashedPct : squashedPct) };
    row.deformation_id = squashed.id;
    row.deformation_pct = squashedPct;
  }
  const [deposit, depositPct] = worst(inside, DEPOSIT);
  if (deposit !== null) {
    if (depositPct >= 100) throw new SurveyError('bore_blocked', 'deposit_pct');
    bore = { ...bore, deposit_m: (bore.height_m * depositPct) / 100 };
    row.deposit_id = deposit.id;
    row.deposit_pct = depositPct;
  }
  return [original, bore];
}

/** @param {ObservationRecord[]} observations @param {string} code
 * @returns {[ObservationRecord | null, number]} */
function worst(observations, code) {
  /** @type {ObservationRecord | null} */
  let found = null;
  let most = 0;
  for (const one of observations) {
    const size = one.fields.quantification_1 ?? null;
    if (one.fields.code === code && size !== null && size > most) [found, most] = [one, size];
  }
  return [found, most];
}

/**
 * Fall over length between the stations nearest to the ends of the stretch.
 * @param {CapacityRow} row
 * @param {LevelProfile | null} profile
 * @param {string} flow
 */
function gradient(row, profile, flow) {
  if (profile === null) return;
  const places = profile.stations.map((s) => s.chainage_m);
  const [left, right] = [nearest(places, Number(row.from_m)), nearest(places, Number(row.to_m))];
  if (right <= left) return;
  const length = places[right] - places[left];
  const rise = riseValue(profile.solution, left, right);
  let ends = [rise.low_m, rise.value_m, rise.high_m];
  if (rise.settled && rise.value_m !== null) {
    const spread = SIGMAS_95 * (rise.sd_m || 0);
    ends = [rise.value_m - spread, rise.value_m, rise.value_m + spread];
  }
  if (flow === 'with_flow') ends = ends.reverse().map((m) => (m === null ? null : -m));
  const band = ends.map((m) => (m === null ? null : Math.max(-1, Math.min(1, m / length))));
  [row.gradient_low, row.gradient, row.gradient_high] = band;
  row.gradient_known = rise.settled ? 'computed' : 'bounded';
  const assumed = profile.stations.slice(left + 1, right + 1).some((s) => s.known === 'assumed');
  if (assumed && rise.settled) row.gradient_known = 'assumed';
}

/** @param {number[]} places @param {number} wanted @returns {number} */
function nearest(places, wanted) {
  let best = 0;
  places.forEach((place, k) => {
    if (Math.abs(place - wanted) < Math.abs(places[best] - wanted)) best = k;
  });
  return best;
}
