/** Where a run goes in plan, by dead reckoning. Twin of webapp/survey/plan/trace.py. */
import { covariance, ellipse95 } from './ellipse.js';
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';
import { inverse } from './geodesy.js';
import { jointParts, shorteningParts } from './joint_turns.js';
import { gain, root, solved, whitened } from './position_tie.js';

/** @typedef {import('./ellipse.js').Ellipse} Ellipse */
/** @typedef {[number, number]} Part */
/** @typedef {{e_m: number, n_m: number, sd_m: number, bearing_deg: number, bearing_sd_deg: number}} Start */
/** @typedef {{chainage_m: number, deflection_deg: number, sd_deg: number}} Bend */
/** @typedef {{e_m: number, n_m: number, sd_m: number}} EndTie */
/** @typedef {{length_m: number, scale_sd: number, leg_sd_m: number}} TraceLength */
/**
 * @typedef {{chainage_m: number, e_m: number, n_m: number, cov_m2: [number, number, number], ellipse:
 *   Ellipse}} Point
 */
/**
 * @typedef {Object} Trace
 * @property {Point[]} points
 * @property {number[]} leg_bearings_deg
 * @property {Part | null} misclosure_m
 * @property {number | null} misclosure_size
 * @property {boolean} suspect
 * @property {Part | null} start_correction_m
 * @property {number | null} bearing_correction_deg
 * @property {number[]} bend_corrections_deg
 * @property {number | null} scale_correction
 */

const CHI2_95 = -2 * Math.log(0.05);
const RADIAN = Math.PI / 180;

/**
 * @param {Start} start
 * @param {Bend[]} bends
 * @param {TraceLength} length
 * @param {EndTie | null} [tie]
 * @param {import('./joints.js').Joint[] | null} [joints] in ascending plan distance
 * @returns {Trace}
 */
export function tracePlan(start, bends, length, tie = null, joints = null) {
  check(start, bends, length, tie);
  const chainages = [0, ...bends.map((b) => b.chainage_m), length.length_m];
  const { places, bearings } = reckon(start, bends, chainages);
  let parts = places.map((_, k) => partsOf(k, places, bearings, start, bends, length));
  if (joints !== null) {
    const turns = jointParts(places, bearings, chainages, joints);
    const nearer = shorteningParts(
      bearings,
      chainages,
      [start.bearing_sd_deg, ...bends.map((b) => b.sd_deg)],
      joints
    );
    parts = parts.map((own, k) => [...own, ...turns[k], nearer[k]]);
  }
  if (tie !== null)
    return tied(chainages, places, parts, bearings, { start, bends, scaleSd: length.scale_sd }, tie);
  return {
    points: chainages.map((c, k) => pointOf(c, places[k], parts[k])),
    leg_bearings_deg: bearings,
    misclosure_m: null,
    misclosure_size: null,
    suspect: false,
    start_correction_m: null,
    bearing_correction_deg: null,
    bend_corrections_deg: [],
    scale_correction: null
  };
}

/** @param {Trace} trace @param {number} chainageM @returns {Part} */
export function placeAlong(trace, chainageM) {
  const wanted = finite(chainageM, 'chainage_m');
  let [before] = trace.points;
  if (wanted < before.chainage_m) throw new SurveyError('beyond_the_run', 'chainage_m');
  for (const here of trace.points.slice(1)) {
    const step = here.chainage_m - before.chainage_m;
    if (wanted <= here.chainage_m && step > 0) {
      const share = (wanted - before.chainage_m) / step;
      return [before.e_m + share * (here.e_m - before.e_m), before.n_m + share * (here.n_m - before.n_m)];
    }
    before = here;
  }
  throw new SurveyError('beyond_the_run', 'chainage_m');
}

/** @param {number} fromLatDeg @param {number} fromLonDeg @param {number} toLatDeg @param {number} toLonDeg
 * @returns {import('./geodesy.js').Line} */
export function walkThisWay(fromLatDeg, fromLonDeg, toLatDeg, toLonDeg) {
  return inverse(fromLatDeg, fromLonDeg, toLatDeg, toLonDeg);
}

/**
 * @param {Start} start
 * @param {Bend[]} bends
 * @param {TraceLength} length
 * @param {EndTie | null} tie
 */
function check(start, bends, { length_m: lengthM, scale_sd: scaleSd, leg_sd_m: legSdM }, tie) {
  for (const value of [start.e_m, start.n_m, start.bearing_deg]) finite(value, 'start');
  for (const value of [start.sd_m, start.bearing_sd_deg]) spread(value, 'start');
  if (finite(lengthM, 'length_m') <= 0) throw new SurveyError('length_not_positive', 'length_m');
  spread(scaleSd, 'scale_sd');
  spread(legSdM, 'leg_sd_m');
  let last = 0;
  for (const [index, bend] of bends.entries()) {
    finite(bend.deflection_deg, 'bends', index);
    spread(bend.sd_deg, 'bends', index);
    const chainage = finite(bend.chainage_m, 'bends', index);
    if (!(chainage >= 0 && chainage <= lengthM)) throw new SurveyError('bend_outside_run', 'bends', index);
    if (chainage < last) throw new SurveyError('chainage_not_ascending', 'bends', index);
    last = chainage;
  }
  if (tie !== null) {
    finite(tie.e_m, 'tie');
    finite(tie.n_m, 'tie');
    spread(tie.sd_m, 'tie');
  }
}

/**
 * Positions at start, bends and end, and the bearing of each leg.
 * @param {Start} start
 * @param {Bend[]} bends
 * @param {number[]} chainages
 */
function reckon(start, bends, chainages) {
  let [bearing, e, n] = [start.bearing_deg, start.e_m, start.n_m];
  /** @type {Part[]} */
  const places = [[e, n]];
  /** @type {number[]} */
  const bearings = [];
  for (let leg = 0; leg <= bends.length; leg += 1) {
    if (leg) bearing += bends[leg - 1].deflection_deg;
    const phi = bearing * RADIAN;
    const length = chainages[leg + 1] - chainages[leg];
    e += length * Math.sin(phi);
    n += length * Math.cos(phi);
    places.push([e, n]);
    bearings.push(bearing - 360 * Math.floor(bearing / 360));
  }
  return { places, bearings };
}

/**
 * Shift of point k by one sd of each cause: start e, start n, bearing, bends, scale, legs.
 * @param {number} k
 * @param {Part[]} places
 * @param {number[]} bearings
 * @param {Start} start
 * @param {Bend[]} bends
 * @param {TraceLength} length
 * @returns {Part[]}
 */
function partsOf(k, places, bearings, start, bends, { scale_sd: scaleSd, leg_sd_m: legSdM }) {
  const [[e, n], [e0, n0]] = [places[k], places[0]];
  const turn = start.bearing_sd_deg * RADIAN;
  /** @type {Part[]} */
  const parts = [
    [start.sd_m, 0],
    [0, start.sd_m],
    [(n - n0) * turn, -(e - e0) * turn]
  ];
  for (const [j, bend] of bends.entries()) {
    const swing = bend.sd_deg * RADIAN;
    const [eb, nb] = places[j + 1];
    parts.push(j + 1 < k ? [(n - nb) * swing, -(e - eb) * swing] : [0, 0]);
  }
  parts.push([(e - e0) * scaleSd, (n - n0) * scaleSd]);
  for (const [i, bearing] of bearings.entries()) {
    const phi = bearing * RADIAN;
    parts.push(i < k ? [legSdM * Math.sin(phi), legSdM * Math.cos(phi)] : [0, 0]);
  }
  return parts;
}

/** @param {number} chainageM @param {Part} place @param {Part[]} parts @returns {Point} */
function pointOf(chainageM, [e, n], parts) {
  return { chainage_m: chainageM, e_m: e, n_m: n, cov_m2: covariance(parts), ellipse: ellipse95(parts) };
}

/**
 * Condition every point on the far end.
 * @param {number[]} chainages @param {Part[]} places @param {Part[][]} parts @param {number[]} bearings
 * @param {{start: Start, bends: Bend[], scaleSd: number}} spreads @param {EndTie} tie @returns {Trace}
 */
function tied(chainages, places, parts, bearings, { start, bends, scaleSd }, tie) {
  const end = parts[parts.length - 1];
  const place = places[places.length - 1];
  const lower = root([...end, [tie.sd_m, 0], [0, tie.sd_m]]);
  /** @type {Part} */
  const missing = [tie.e_m - place[0], tie.n_m - place[1]];
  const white = whitened(lower, missing);
  const alpha = solved(lower, missing);
  const points = chainages.map((c, k) => {
    const [east, north] = gain(parts[k], end, lower);
    /** @type {Part[]} */
    const left = parts[k].map(([e, n], i) => [e - apply(east, end[i]), n - apply(north, end[i])]);
    left.push([east[0] * tie.sd_m, north[0] * tie.sd_m], [east[1] * tie.sd_m, north[1] * tie.sd_m]);
    return pointOf(c, [places[k][0] + apply(east, missing), places[k][1] + apply(north, missing)], left);
  });
  const moved = end.map((part) => apply(part, alpha));
  const size = Math.sqrt(white[0] * white[0] + white[1] * white[1]);
  return {
    points,
    leg_bearings_deg: bearings,
    misclosure_m: [-missing[0], -missing[1]],
    misclosure_size: size,
    suspect: size * size > CHI2_95,
    start_correction_m: [start.sd_m * moved[0], start.sd_m * moved[1]],
    bearing_correction_deg: start.bearing_sd_deg * moved[2],
    bend_corrections_deg: bends.map((bend, j) => bend.sd_deg * moved[3 + j]),
    scale_correction: scaleSd * moved[3 + bends.length]
  };
}

/** @param {Part} row @param {Part} vector @returns {number} */
function apply(row, vector) {
  return row[0] * vector[0] + row[1] * vector[1];
}
