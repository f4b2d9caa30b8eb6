/** Where the phone is, when the surveyor asks for it. Levels are never taken from it. */
import { PHONE_PCT } from '../survey/plan/position_accuracy.js';

/**
 * @typedef {{lat_deg: number, lon_deg: number, accuracy_m: number, accuracy_pct: number, source: 'phone'}}
 *   Fix
 */

const ANDROID_PCT = 68;

/** @type {Record<number, string>} by the reason that the browser gives */
const CODES = { 1: 'position_denied', 2: 'position_unknown', 3: 'position_late' };

export class PositionError extends Error {
  /** @param {number} reason */
  constructor(reason) {
    const code = CODES[reason] ?? 'position_none';
    super(code);
    this.name = 'PositionError';
    this.code = code;
  }
}

/** @param {number} value @param {number} digits @returns {number} */
function rounded(value, digits) {
  return Number(value.toFixed(digits));
}

/**
 * How many times in 100 the radius of this platform holds the true place; the sources stand in
 * survey/position_accuracy.
 * @param {string} userAgent
 * @returns {number}
 */
export function platformPct(userAgent) {
  return userAgent.includes('Android') ? ANDROID_PCT : PHONE_PCT;
}

/** @param {GeolocationCoordinates} coords @returns {Fix} */
function fixOf(coords) {
  return {
    lat_deg: rounded(coords.latitude, 7),
    lon_deg: rounded(coords.longitude, 7),
    accuracy_m: rounded(coords.accuracy, 1),
    accuracy_pct: platformPct(navigator.userAgent),
    source: 'phone'
  };
}

/**
 * Follows the phone until stopped. Call inside a tap.
 * @param {(fix: Fix) => void} found
 * @param {(error: PositionError) => void} failed
 * @returns {() => void} stops following
 */
export function followPosition(found, failed) {
  if (!navigator.geolocation) {
    failed(new PositionError(0));
    return () => undefined;
  }
  const id = navigator.geolocation.watchPosition(
    ({ coords }) => found(fixOf(coords)),
    (error) => failed(new PositionError(error.code)),
    { enableHighAccuracy: true, timeout: 30_000, maximumAge: 2000 }
  );
  return () => navigator.geolocation.clearWatch(id);
}

/** Call inside a tap. @returns {Promise<Fix>} the radius as the phone states it */
export function currentPosition() {
  return new Promise((resolve, reject) => {
    if (!navigator.geolocation) {
      reject(new PositionError(0));
      return;
    }
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => resolve(fixOf(coords)),
      (error) => reject(new PositionError(error.code)),
      { enableHighAccuracy: true, timeout: 30_000, maximumAge: 0 }
    );
  });
}
