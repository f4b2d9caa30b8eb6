/** The three norths, and grid convergence. Twin of webapp/survey/plan/north.py. */
import { SurveyError } from '../errors.js';
import { finite, spread } from '../numbers/finite.js';

const FLATTENING = 1 / 298.257223563;
const ECCENTRICITY = Math.sqrt(FLATTENING * (2 - FLATTENING));
const N = FLATTENING / (2 - FLATTENING);
const N2 = N * N;
const KRUEGER = [
  N / 2 - (2 * N2) / 3 + (5 * N * N2) / 16 + (41 * N2 * N2) / 180,
  (13 * N2) / 48 - (3 * N * N2) / 5 + (557 * N2 * N2) / 1440,
  (61 * N * N2) / 240 - (103 * N2 * N2) / 140,
  (49561 * N2 * N2) / 161280
];
const WIDEST_DEG = 45;
const NORTHS = ['magnetic', 'true', 'grid'];
const RADIAN = Math.PI / 180;

/** @param {number} latDeg @param {number} lonDeg @param {number} centralMeridianDeg @returns {number} */
export function gridConvergence(latDeg, lonDeg, centralMeridianDeg) {
  const [lat, lon] = [finite(latDeg, 'lat_deg'), finite(lonDeg, 'lon_deg')];
  if (!(lat >= -90 && lat <= 90)) throw new SurveyError('latitude_out_of_range', 'lat_deg');
  let east = lon - finite(centralMeridianDeg, 'central_meridian_deg');
  east -= 360 * Math.floor((east + 180) / 360);
  if (!(east >= -WIDEST_DEG && east <= WIDEST_DEG)) throw new SurveyError('too_far_from_meridian', 'lon_deg');
  const [phi, lam] = [lat * RADIAN, east * RADIAN];
  const [sin, cos] = [Math.sin(phi), Math.cos(phi)];
  if (cos < 1e-12) return lat > 0 ? east : -east; // at the pole the meridians turn by just their longitude
  const tau = sin / cos;
  const sigma = Math.sinh(ECCENTRICITY * Math.atanh(ECCENTRICITY * sin));
  const conformal = tau * Math.sqrt(1 + sigma * sigma) - sigma * Math.sqrt(1 + tau * tau);
  const wide = Math.sqrt(conformal * conformal + Math.cos(lam) * Math.cos(lam));
  const xi = Math.atan2(conformal, Math.cos(lam));
  const eta = Math.asinh(Math.sin(lam) / wide);
  let [p, q] = [1, 0];
  KRUEGER.forEach((a, place) => {
    const double = 2 * (place + 1);
    p += double * a * Math.cos(double * xi) * Math.cosh(double * eta);
    q += double * a * Math.sin(double * xi) * Math.sinh(double * eta);
  });
  const sphere = Math.atan((conformal / Math.sqrt(1 + conformal * conformal)) * Math.tan(lam));
  return (sphere + Math.atan2(q, p)) / RADIAN;
}

/**
 * @param {number} bearingDeg
 * @param {string} fromNorth
 * @param {string} toNorth
 * @param {number | null} declinationDeg
 * @param {number | null} convergenceDeg
 * @returns {number}
 */
export function turnBearing(bearingDeg, fromNorth, toNorth, declinationDeg, convergenceDeg) {
  let turned = finite(bearingDeg, 'bearing_deg');
  if (!NORTHS.includes(fromNorth)) throw new SurveyError('north_unknown', 'from_north');
  if (!NORTHS.includes(toNorth)) throw new SurveyError('north_unknown', 'to_north');
  if (fromNorth !== toNorth) {
    turned += eastOfTrue(fromNorth, declinationDeg, convergenceDeg);
    turned -= eastOfTrue(toNorth, declinationDeg, convergenceDeg);
  }
  turned -= 360 * Math.floor(turned / 360);
  return turned >= 0 && turned < 360 ? turned : 0; // a trifle west of north is north
}

/** @param {number} sdDeg @param {number} declinationSdDeg @returns {number} */
export function bearingSdDeg(sdDeg, declinationSdDeg) {
  const [own, model] = [spread(sdDeg, 'sd_deg'), spread(declinationSdDeg, 'declination_sd_deg')];
  return Math.sqrt(own * own + model * model);
}

/**
 * @param {string} north
 * @param {number | null} declinationDeg
 * @param {number | null} convergenceDeg
 * @returns {number}
 */
function eastOfTrue(north, declinationDeg, convergenceDeg) {
  if (north === 'magnetic') {
    if (declinationDeg === null) throw new SurveyError('declination_missing', 'declination_deg');
    return finite(declinationDeg, 'declination_deg');
  }
  if (north === 'grid') {
    if (convergenceDeg === null) throw new SurveyError('convergence_missing', 'convergence_deg');
    return finite(convergenceDeg, 'convergence_deg');
  }
  return 0;
}
