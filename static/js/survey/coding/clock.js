/**
 * Clock positions: true for a camera off the axis, mirrored, and the span they cover. Twin of
 * webapp/survey/coding/clock.py.
 */
import { GREATEST_M } from '../section/bore.js';
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';

/**
 * @param {number} radiusM
 * @param {number} cameraHeightM
 * @param {number} cameraRightM
 * @param {number} viewDeg
 * @returns {{true_deg: number, true_hours: number, apparent_hours: number, nearest_hour: number,
 *   wall_distance_m: number}}
 */
export function truePosition(radiusM, cameraHeightM, cameraRightM, viewDeg) {
  const radius = numberBetween(radiusM, 0.001, GREATEST_M, 'radius_m', 'size_out_of_range');
  const right = numberBetween(cameraRightM, -radius, radius, 'camera_right_m', 'camera_outside_bore');
  const height = numberBetween(cameraHeightM, 0, 2 * radius, 'camera_height_m', 'camera_outside_bore');
  const view = numberBetween(viewDeg, -360, 720, 'view_deg', 'angle_out_of_range');
  const low = radius - height;
  if (right * right + low * low >= radius * radius)
    throw new SurveyError('camera_outside_bore', 'camera_height_m');
  const alpha = (view * Math.PI) / 180;
  const across = right * Math.cos(alpha) + low * Math.sin(alpha);
  const ahead = right * Math.sin(alpha) - low * Math.cos(alpha);
  const trueDeg = turn(view + (Math.asin(across / radius) * 180) / Math.PI, 360);
  const hours = trueDeg / 30;
  return {
    true_deg: trueDeg,
    true_hours: hours,
    apparent_hours: turn(view, 360) / 30,
    nearest_hour: Math.floor(hours + 0.5) % 12 || 12,
    wall_distance_m: Math.sqrt(radius * radius - across * across) - ahead
  };
}

/**
 * @param {number} radiusM @param {number} cameraHeightM @param {number} cameraRightM @param {number} trueDeg
 * @returns {{view_deg: number, apparent_hours: number, wall_distance_m: number}}
 */
export function apparentPosition(radiusM, cameraHeightM, cameraRightM, trueDeg) {
  const radius = numberBetween(radiusM, 0.001, GREATEST_M, 'radius_m', 'size_out_of_range');
  const right = numberBetween(cameraRightM, -radius, radius, 'camera_right_m', 'camera_outside_bore');
  const height = numberBetween(cameraHeightM, 0, 2 * radius, 'camera_height_m', 'camera_outside_bore');
  const place = numberBetween(trueDeg, -360, 720, 'true_deg', 'angle_out_of_range');
  const low = radius - height;
  if (right * right + low * low >= radius * radius)
    throw new SurveyError('camera_outside_bore', 'camera_height_m');
  const across = radius * Math.sin((place * Math.PI) / 180) - right;
  const up = radius * Math.cos((place * Math.PI) / 180) + low;
  const view = turn((Math.atan2(across, up) * 180) / Math.PI, 360);
  return { view_deg: view, apparent_hours: view / 30, wall_distance_m: Math.sqrt(across * across + up * up) };
}

/** @param {number} hourFrom @param {number} hourTo @returns {number} */
export function clockSpan(hourFrom, hourTo) {
  const to = hour(hourTo, 'hour_to');
  return (to - hour(hourFrom, 'hour_from') + 12) % 12 || 12;
}

/**
 * @param {number} hourFrom
 * @param {number | null} hourTo
 * @returns {{hour_from: number, hour_to: number | null}}
 */
export function mirrorClock(hourFrom, hourTo) {
  const first = 12 - hour(hourFrom, 'hour_from') || 12;
  if (hourTo === null || hourTo === undefined) return { hour_from: first, hour_to: null };
  return { hour_from: 12 - hour(hourTo, 'hour_to') || 12, hour_to: first };
}

/** @param {number} value @param {string} field @returns {number} */
function hour(value, field) {
  numberBetween(value, 1, 12, field, 'clock_out_of_range');
  if (value !== Math.floor(value)) throw new SurveyError('clock_out_of_range', field);
  return value;
}

/**
 * The angle within one turn, 0 up to, but not including, the whole.
 * @param {number} angle
 * @param {number} whole
 * @returns {number}
 */
function turn(angle, whole) {
  const within = angle - whole * Math.floor(angle / whole);
  return within >= whole ? 0 : within;
}
