/** Clock positions: true for a camera off the axis. Twin of webapp/survey/coding/clock.py. */
import { MAX_M } from '../section/bore.js';
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
  const radius = numberBetween(radiusM, 0.001, MAX_M, 'radius_m', 'size_out_of_range');
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
 * The angle within one turn, 0 up to, but not including, the whole.
 * @param {number} angle
 * @param {number} whole
 * @returns {number}
 */
function turn(angle, whole) {
  const within = angle - whole * Math.floor(angle / whole);
  return within >= whole ? 0 : within;
}
