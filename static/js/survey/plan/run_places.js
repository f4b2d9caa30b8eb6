/**
 * Where things lie along a trace: the far end, observations, an ellipse. Twin of
 * webapp/survey/plan/run_places.py.
 */
import { chainageM } from '../instruments/counter.js';
import { searchRadiusM } from './ellipse.js';
import { finite } from '../numbers/finite.js';
import { geodeticOfLocal } from './geodesy.js';
import { planLengths } from './plan_length.js';
import { placedReadings } from '../levels/run_model.js';
import { settledAt } from '../levels/gap_inclinations.js';
import { placeAlong } from './trace.js';

/** @typedef {import('./run_trace.js').RunTrace} RunTrace */
/** @typedef {import('../../records/types.js').BearingNorth} BearingNorth */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/**
 * @typedef {{distance_m: number, bearing_deg: number, north: BearingNorth | null, radius_m: number, lat_deg:
 *   number | null, lon_deg: number | null}} FarEnd
 */
/**
 * @typedef {{id: string, chainage_m: number, plan_m: number, e_m: number, n_m: number, lat_deg: number |
 *   null, lon_deg: number | null}} PlacedItem
 */

const CORNERS = 48;

/** @param {RunTrace} found @returns {FarEnd | null} */
export function farEnd(found) {
  if (found.trace === null) return null;
  const [start, end] = [found.trace.points[0], found.trace.points[found.trace.points.length - 1]];
  const [e, n] = [end.e_m - start.e_m, end.n_m - start.n_m];
  const turn = (Math.atan2(e, n) * 180) / Math.PI;
  const place = found.places ? found.places[found.places.length - 1] : null;
  return {
    distance_m: Math.sqrt(e * e + n * n),
    bearing_deg: turn < 0 ? turn + 360 : turn,
    north: found.north,
    radius_m: searchRadiusM(end.ellipse.semi_major_m, 0),
    lat_deg: place === null ? null : place.lat_deg,
    lon_deg: place === null ? null : place.lon_deg
  };
}

/**
 * @param {import('../../records/types.js').ObservationRecord[]} items
 * @param {RunTrace} found from `runTrace` with the same facts
 * @param {import('./run_trace.js').TraceFacts} facts
 * @returns {PlacedItem[]}
 */
export function placesAlong(items, found, { run, nodes, readings, instruments, settled = {} }) {
  if (found.trace === null) return [];
  const zeroM = run.counter_zero_m || 0;
  const read = placedReadings(readings, zeroM, instruments.scale)[0];
  const known = read.map(([r]) => ({ chainage_m: r.chainage_m, deg: r.deg, over: r.over }));
  const there = settledAt(
    read.map(([, id]) => id),
    settled
  );
  const start = found.places ? startOf(nodes, run.start_node_id) : null;
  const last = found.trace.points[found.trace.points.length - 1].chainage_m;
  /** @type {PlacedItem[]} */
  const placed = [];
  for (const one of items) {
    const counterM = one.fields.counter_m ?? null;
    const where = counterM === null ? -1 : chainageM(counterM, zeroM, instruments.scale);
    if (!(where >= 0 && where <= found.length_m)) continue;
    const plan = planLengths([where], known, instruments.limit_deg, there)[0];
    const middle = (plan.low_m + plan.high_m) / 2;
    const [e, n] = placeAlong(found.trace, middle < last ? middle : last);
    const ground = start === null ? null : geodeticOfLocal(start.lat_deg, start.lon_deg, e, n);
    placed.push({
      id: one.id,
      chainage_m: where,
      plan_m: middle,
      e_m: e,
      n_m: n,
      lat_deg: ground === null ? null : ground.lat_deg,
      lon_deg: ground === null ? null : ground.lon_deg
    });
  }
  return placed;
}

/**
 * @param {number} semiMajorM
 * @param {number} semiMinorM
 * @param {number} azimuthDeg
 * @returns {Array<[number, number]>}
 */
export function ellipseOutline(semiMajorM, semiMinorM, azimuthDeg) {
  const [major, minor] = [finite(semiMajorM, 'semi_major_m'), finite(semiMinorM, 'semi_minor_m')];
  const theta = (finite(azimuthDeg, 'azimuth_deg') * Math.PI) / 180;
  const [sin, cos] = [Math.sin(theta), Math.cos(theta)];
  /** @type {Array<[number, number]>} */
  const outline = [];
  for (let k = 0; k < CORNERS; k += 1) {
    const turn = (2 * Math.PI * k) / CORNERS;
    const [along, across] = [major * Math.cos(turn), minor * Math.sin(turn)];
    outline.push([along * sin - across * cos, along * cos + across * sin]);
  }
  return [...outline, outline[0]];
}

/** @param {NodeRecord[]} nodes @param {string | null | undefined} nodeId
 * @returns {import('../../records/types.js').Position | null} */
function startOf(nodes, nodeId) {
  return nodes.findLast((node) => node.id === nodeId && node.fields.position)?.fields.position ?? null;
}
