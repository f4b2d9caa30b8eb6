/** Where a run goes in plan, from its records. Twin of webapp/survey/plan/run_trace.py. */
import { bendsOf } from './bends.js';
import { chainageM } from '../instruments/counter.js';
import { geodeticOfLocal, localOfGeodetic } from './geodesy.js';
import { jointsAlong } from './joints.js';
import { bearingSdDeg, turnBearing } from './north.js';
import { planLengths } from './plan_length.js';
import { placedReadings } from '../levels/run_model.js';
import { settledAt } from '../levels/gap_inclinations.js';
import { tracePlan } from './trace.js';
import { ASSUMED, basisOf, convergenceUsed, declinationUsed, positionUsed } from './trace_basis.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('../instruments/instruments.js').Instruments} Instruments */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').ReadingRecord} ReadingRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */
/** @typedef {import('../../records/types.js').Position} Position */
/** @typedef {import('../../records/types.js').BearingNorth} BearingNorth */
/** @typedef {'start_bearing' | 'length' | 'start_position' | 'declination' | 'convergence'} Missing */
/** @typedef {import('./bends.js').PlanBend & {plan_m: number}} TracedBend */
/**
 * @typedef {{missing: Missing[], north: BearingNorth | null, bearing_deg: number | null, bearing_sd_deg:
 *   number | null, bearing_known: string | null, bearing_read_sd_deg: number | null, declination:
 *   import('./trace_basis.js').DeclinationUsed | null, convergence: {deg: number, known: string} | null,
 *   start_radius_m: number, start_known: string, start:
 *   import('./trace_basis.js').PositionUsed | null, length_m: number, plan_low_m: number | null, plan_high_m:
 *   number | null, plan_known: string | null, bends: TracedBend[], left_out:
 *   import('./bends.js').LeftOutBend[], loose: import('./bends.js').LooseTurn[], joints:
 *   import('./joints.js').JointLength[], tied: boolean, tie:
 *   import('./trace_basis.js').PositionUsed | null, trace: import('./trace.js').Trace | null, places:
 *   Array<{lat_deg: number, lon_deg: number}> | null}} RunTrace
 */

const RADIUS_TO_SD = Math.sqrt(-2 * Math.log(0.05)); // 95 % radius over the standard deviation of an axis
const NO_BASIS = basisOf({}, [], []);

/**
 * What a trace is made from; `settled`: what the ties tell of readings beyond the range.
 * @typedef {{run: RunFields, nodes: NodeRecord[], readings: ReadingRecord[], observations:
 *   ObservationRecord[], code_rows: import('../../records/tables.js').ObservationCode[], instruments:
 *   Instruments, declination_deg: number | null, convergence_deg: number | null, settled?: Object<string,
 *   import('../levels/gap_inclinations.js').Settled>, basis?: import('./trace_basis.js').TraceBasis}}
 *   TraceFacts
 */

/** @param {TraceFacts} facts @returns {RunTrace} */
export function runTrace(facts) {
  const { run, nodes, readings, instruments, settled = {}, basis = NO_BASIS } = facts;
  const zeroM = run.counter_zero_m || 0;
  const lengthM = lengthOf(facts, zeroM);
  const bearing = run.start_bearing ?? null;
  const start = position(nodes, run.start_node_id);
  const found = frame(bearing, start, lengthM, [facts.declination_deg, facts.convergence_deg], basis);
  if (bearing === null || lengthM <= 0) return found;
  const placed = placedReadings(readings, zeroM, instruments.scale)[0];
  const known = placed.map(([r]) => ({ chainage_m: r.chainage_m, deg: r.deg, over: r.over }));
  const there = settledAt(
    placed.map(([, id]) => id),
    settled
  );
  const bends = bendsOf(facts.code_rows, facts.observations, zeroM, instruments.scale, ASSUMED.bend_sd_deg, {
    readings: known,
    sd_deg: instruments.sd_deg
  });
  /** @param {{chainage_m: number}} b */
  const isInside = (b) => b.chainage_m >= 0 && b.chainage_m <= lengthM;
  const inside = bends.bends.filter(isInside);
  found.left_out = [
    ...bends.left_out,
    ...bends.bends.filter((b) => !isInside(b)).map((b) => ({ id: b.id, code: 'bend_outside_run' }))
  ];
  found.loose = bends.loose.filter(isInside);
  const seenM = [...inside, ...found.loose].map((b) => b.chainage_m);
  const unread = jointsAlong(
    basis.stretches,
    { zero_m: zeroM, scale: instruments.scale, length_m: lengthM },
    basis.joint_rows,
    seenM
  );
  found.joints = unread.lengths;
  const plans = planLengths(
    [...inside.map((b) => b.chainage_m), lengthM],
    known,
    instruments.limit_deg,
    there
  );
  const middles = plans.map((p) => (p.low_m + p.high_m) / 2);
  const whole = plans[plans.length - 1];
  Object.assign(found, { plan_low_m: whole.low_m, plan_high_m: whole.high_m, plan_known: whole.known });
  found.bends = inside.map((b, i) => ({ ...b, plan_m: middles[i] }));
  const tie = endTie(run, nodes, start, found);
  /** @type {Mark[]} */
  const marks = [[0, 0], ...plans.map((p, i) => /** @type {Mark} */ ([p.chainage_m, middles[i]]))];
  const trace = tracePlan(
    {
      e_m: 0,
      n_m: 0,
      sd_m: found.start_radius_m / RADIUS_TO_SD,
      bearing_deg: Number(found.bearing_deg),
      bearing_sd_deg: Number(found.bearing_sd_deg)
    },
    inside.map((b, i) => ({ chainage_m: middles[i], deflection_deg: b.deflection_deg, sd_deg: b.sd_deg })),
    {
      length_m: middles[middles.length - 1],
      scale_sd: instruments.scale_sd,
      leg_sd_m: (whole.high_m - whole.low_m) / Math.sqrt(12)
    },
    tie,
    onPlan(
      [...unread.joints, ...found.loose.map(({ chainage_m, sd_deg }) => ({ chainage_m, sd_deg }))],
      marks
    )
  );
  found.trace = trace;
  if (start !== null && found.north === 'true') {
    found.places = trace.points.map((p) => {
      const end = geodeticOfLocal(start.lat_deg, start.lon_deg, p.e_m, p.n_m);
      return { lat_deg: end.lat_deg, lon_deg: end.lon_deg };
    });
  }
  return found;
}

/** @typedef {[number, number]} Mark along the pipe, on plan */

/**
 * Joints at their plan distance, evenly between the marks.
 * @param {import('./joints.js').Joint[]} joints
 * @param {Mark[]} marks
 */
function onPlan(joints, marks) {
  let leg = 1;
  return [...joints]
    .sort((a, b) => a.chainage_m - b.chainage_m)
    .map((joint) => {
      while (leg < marks.length - 1 && joint.chainage_m > marks[leg][0]) leg += 1;
      const [[c0, p0], [c1, p1]] = [marks[leg - 1], marks[leg]];
      const share = c1 > c0 ? (joint.chainage_m - c0) / (c1 - c0) : 0;
      return { chainage_m: Math.min(p1, p0 + Math.max(0, share) * (p1 - p0)), sd_deg: joint.sd_deg };
    });
}

/** @param {TraceFacts} facts @param {number} zeroM @returns {number} */
function lengthOf({ run, readings, observations, instruments: { scale } }, zeroM) {
  const endM = run.end_counter_m ?? null;
  const counters =
    endM !== null ? [endM] : [...readings, ...observations].map((r) => r.fields.counter_m ?? null);
  let longest = 0;
  for (const c of counters) if (c !== null) longest = Math.max(longest, chainageM(c, zeroM, scale));
  return longest;
}

/** @param {NodeRecord[]} nodes @param {string | null | undefined} nodeId @returns {Position | null} */
function position(nodes, nodeId) {
  return nodes.findLast((node) => node.id === nodeId && node.fields.position)?.fields.position ?? null;
}

/**
 * Which north the trace refers to, how well its start is known, and what is missing.
 * @param {import('../../records/types.js').Bearing | null} bearing
 * @param {Position | null} start
 * @param {number} lengthM
 * @param {[number | null, number | null]} turns declination, convergence
 * @param {import('./trace_basis.js').TraceBasis} basis
 * @returns {RunTrace}
 */
function frame(bearing, start, lengthM, turns, basis) {
  /** @type {RunTrace} */
  const found = {
    missing: [],
    north: null,
    bearing_deg: null,
    bearing_sd_deg: null,
    bearing_known: null,
    bearing_read_sd_deg: null,
    declination: null,
    convergence: null,
    start_radius_m: 0,
    start_known: 'unknown',
    start: null,
    length_m: lengthM,
    plan_low_m: null,
    plan_high_m: null,
    plan_known: null,
    bends: [],
    left_out: [],
    loose: [],
    joints: [],
    tied: false,
    tie: null,
    trace: null,
    places: null
  };
  if (bearing === null) found.missing.push('start_bearing');
  if (lengthM <= 0) found.missing.push('length');
  if (start === null) found.missing.push('start_position');
  else {
    const used = positionUsed(start);
    Object.assign(found, { start: used, start_radius_m: used.radius_m, start_known: used.known });
  }
  if (bearing === null) return found;
  let { north, bearing_deg: turned } = bearing;
  let toGrid = turns[1];
  if (north === 'grid') {
    found.convergence = convergenceUsed(toGrid, start, basis);
    toGrid = found.convergence?.deg ?? null;
  }
  const offset = north === 'magnetic' ? turns[0] : north === 'grid' ? toGrid : 0;
  const readSd = bearing.sd_deg ?? ASSUMED.bearing_sd_deg;
  let wholeSd = readSd;
  if (offset === null) found.missing.push(north === 'magnetic' ? 'declination' : 'convergence');
  else {
    turned = turnBearing(turned, north, 'true', turns[0], toGrid);
    if (north === 'magnetic') {
      found.declination = declinationUsed(offset, basis);
      wholeSd = bearingSdDeg(readSd, found.declination.sd_deg);
    }
    north = 'true';
  }
  return Object.assign(found, {
    north,
    bearing_deg: turned,
    bearing_sd_deg: wholeSd,
    bearing_read_sd_deg: readSd,
    bearing_known: (bearing.sd_deg ?? null) === null ? 'assumed' : 'measured'
  });
}

/**
 * @param {RunFields} run
 * @param {NodeRecord[]} nodes
 * @param {Position | null} start
 * @param {RunTrace} found
 * @returns {import('./trace.js').EndTie | null}
 */
function endTie(run, nodes, start, found) {
  const far = position(nodes, run.finish_node_id);
  if (far === null || start === null || run.end_reason !== 'node_reached' || found.north !== 'true')
    return null;
  const local = localOfGeodetic(start.lat_deg, start.lon_deg, far.lat_deg, far.lon_deg);
  found.tied = true;
  found.tie = positionUsed(far);
  return { e_m: local.e_m, n_m: local.n_m, sd_m: found.tie.radius_m / RADIUS_TO_SD };
}
