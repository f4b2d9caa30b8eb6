/**
 * What two people recorded differently of a pipe and of its run. Twin of webapp/survey/flow/disputed_pipe.py.
 */
import { bottleneck } from './bottleneck.js';
import { variants } from '../coding/disputes.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./capacity.js').Capacity} Capacity */
/** @typedef {import('./capacity_limits.js').LimitedCapacity} LimitedCapacity */
/** @typedef {import('./capacity_limits.js').LimitedRow} LimitedRow */
/** @typedef {LimitedRow & {disputed: boolean, bores: Bore[]}} SpannedRow */
/** @typedef {Omit<LimitedCapacity, 'rows'> & {rows: SpannedRow[]}} SpannedCapacity */

const PIPE_FIELDS = ['shape', 'height_mm', 'width_mm', 'material', 'roughness_mm'];

/**
 * A stretch under each value of its pipe that stands in dispute, first as it is shown.
 * @param {StretchRecord} stretch
 * @returns {StretchRecord[]}
 */
export function pipeVariants(stretch) {
  return variants(stretch.fields, stretch.conflicts, PIPE_FIELDS).map((fields) => ({ ...stretch, fields }));
}

/**
 * The capacities of a run, wider where a pipe is in dispute.
 * @param {LimitedCapacity} found
 * @param {Object<string, LimitedRow[]>} each
 * @returns {SpannedCapacity}
 */
export function overPipes(found, each) {
  const rows = found.rows.map((row, k) =>
    k in each ? spanned([row, ...each[k]]) : { ...row, disputed: false, bores: [] }
  );
  if (Object.keys(each).length === 0) return { ...found, rows };
  return { ...found, rows, bottleneck: bottleneck(rows), whole: null };
}

/** @param {LimitedRow[]} mays @returns {SpannedRow} */
function spanned(mays) {
  const [shown] = mays;
  /** @type {Bore[]} */
  const bores = [];
  for (const one of mays) {
    const bore = one.laid ?? one.bore;
    if (bore !== null && !bores.some((other) => spelled(other) === spelled(bore))) bores.push(bore);
  }
  const made = { ...shown, disputed: true, bores };
  const flows = /** @type {Capacity[]} */ (mays.map((one) => one.capacity));
  if (flows.some((flow) => flow === null || flow.low_m3_s === null || flow.high_m3_s === null)) {
    return { ...made, capacity: null, left_out: shown.left_out || 'pipe_in_dispute' };
  }
  const findings = [...new Set(flows.flatMap((flow) => flow.findings))];
  return {
    ...made,
    capacity: {
      low_m3_s: Math.min(...flows.map((flow) => Number(flow.low_m3_s))),
      mean_m3_s: null,
      high_m3_s: Math.max(...flows.map((flow) => Number(flow.high_m3_s))),
      known: 'bounded',
      findings: [...findings, 'pipe_in_dispute']
    }
  };
}

/** @param {Bore} bore */
function spelled(bore) {
  return JSON.stringify(Object.entries(bore).sort());
}

/**
 * The rows of a capacity whose pipe is settled.
 * @param {SpannedRow[]} rows
 * @returns {SpannedRow[]}
 */
export function settledRows(rows) {
  return rows.filter((row) => !row.disputed);
}

/**
 * The fields of a run as its figures may use them.
 * @param {RunFields} fields
 * @param {import('../../records/types.js').Disputed | null | undefined} conflicts
 * @returns {RunFields}
 */
export function settledRun(fields, conflicts) {
  const found = { ...fields };
  if (!conflicts) return found;
  if ('direction' in conflicts) found.direction = 'unknown';
  const ends = (conflicts.end_counter_m ?? []).flatMap(([, value]) => (value === null ? [] : Number(value)));
  if (ends.length && (fields.end_counter_m ?? null) !== null) found.least_end_counter_m = Math.min(...ends);
  return found;
}
