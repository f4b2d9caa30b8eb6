/** A closed traverse and the compass rule. Twin of webapp/survey/plan/traverse.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';

/** @typedef {{latitude_m: number, departure_m: number}} Leg */

const RADIAN = Math.PI / 180;

/** @param {number} courseDeg @param {number} distanceM @returns {Leg} */
export function deadReckoningLeg(courseDeg, distanceM) {
  const course = finite(courseDeg, 'course_deg') * RADIAN;
  const distance = finite(distanceM, 'distance_m');
  return { latitude_m: distance * Math.cos(course), departure_m: distance * Math.sin(course) };
}

/**
 * @param {number[]} azimuthDeg
 * @param {number[]} lengthM
 * @param {number} startNorthingM
 * @param {number} startEastingM
 */
export function traverseBowditch(azimuthDeg, lengthM, startNorthingM, startEastingM) {
  if (!azimuthDeg.length || azimuthDeg.length !== lengthM.length)
    throw new SurveyError('length_mismatch', 'length_m');
  const legs = azimuthDeg.map((azimuth, index) => {
    finite(azimuth, 'azimuth_deg', index);
    if (finite(lengthM[index], 'length_m', index) <= 0)
      throw new SurveyError('length_not_positive', 'length_m', index);
    return deadReckoningLeg(azimuth, lengthM[index]);
  });
  let [north, east, total] = [0, 0, 0];
  for (const [i, leg] of legs.entries()) {
    north += leg.latitude_m;
    east += leg.departure_m;
    total += lengthM[i];
  }
  const linear = Math.sqrt(north * north + east * east);
  const adjusted = legs.map((leg, i) => ({
    latitude_m: leg.latitude_m - north * (lengthM[i] / total),
    departure_m: leg.departure_m - east * (lengthM[i] / total)
  }));
  const stations = stationsOf(adjusted, startNorthingM, startEastingM);
  return {
    latitude_m: legs.map((leg) => leg.latitude_m),
    departure_m: legs.map((leg) => leg.departure_m),
    misclosure_latitude_m: north,
    misclosure_departure_m: east,
    linear_misclosure_m: linear,
    precision_one_in: linear > 0 ? total / linear : null,
    adjusted_latitude_m: adjusted.map((leg) => leg.latitude_m),
    adjusted_departure_m: adjusted.map((leg) => leg.departure_m),
    adjusted_length_m: adjusted.map(lengthOf),
    adjusted_azimuth_deg: adjusted.map(azimuthOf),
    northing_m: stations.map(([n]) => n),
    easting_m: stations.map(([, e]) => e)
  };
}

/**
 * @param {Leg[]} legs
 * @param {number} startNorthingM
 * @param {number} startEastingM
 * @returns {Array<[number, number]>}
 */
function stationsOf(legs, startNorthingM, startEastingM) {
  let n = finite(startNorthingM, 'start_northing_m');
  let e = finite(startEastingM, 'start_easting_m');
  return legs.map((leg) => {
    /** @type {[number, number]} */
    const here = [n, e];
    n += leg.latitude_m;
    e += leg.departure_m;
    return here;
  });
}

/** @param {Leg} leg @returns {number} */
function lengthOf(leg) {
  return Math.sqrt(leg.latitude_m * leg.latitude_m + leg.departure_m * leg.departure_m);
}

/** @param {Leg} leg @returns {number} */
function azimuthOf(leg) {
  const deg = Math.atan2(leg.departure_m, leg.latitude_m) / RADIAN;
  const turned = deg < 0 ? deg + 360 : deg;
  return turned >= 360 ? 0 : turned;
}
