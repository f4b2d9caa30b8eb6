/** Lines on the ellipsoid WGS 84; local east and north. Twin of webapp/survey/plan/geodesy.py. */
import { SurveyError } from '../errors.js';
import { finite } from '../numbers/finite.js';
import { arcSeries, between, distanceSeries, expansion, longitudeSeries, wave } from './geodesic_series.js';

/** @typedef {{lat_deg: number, lon_deg: number, azimuth_deg: number}} Place */
/** @typedef {{distance_m: number, azimuth_from_deg: number, azimuth_to_deg: number}} Line */
/** @typedef {{e_m: number, n_m: number}} Local */
/** @typedef {[number, number]} Pair */

const SEMI_MAJOR_M = 6378137;
const FLATTENING = 1 / 298.257223563;
const FARTHEST_M = 20000000;
const TRIES = 100;
const SETTLED = 1e-15; // change of the longitude on the sphere, in radians
const KEEP = 1 - FLATTENING;
const SEMI_MINOR_M = SEMI_MAJOR_M * KEEP;
const THIRD = FLATTENING / (2 - FLATTENING);
const SECOND_ECC2 = (FLATTENING * (2 - FLATTENING)) / (KEEP * KEEP);
const RADIAN = Math.PI / 180;

/**
 * @param {number} latDeg
 * @param {number} lonDeg
 * @param {number} azimuthDeg
 * @param {number} distanceM
 * @returns {Place}
 */
export function direct(latDeg, lonDeg, azimuthDeg, distanceM) {
  const [lat, lon] = checked(latDeg, lonDeg, '');
  const alpha = finite(azimuthDeg, 'azimuth_deg') * RADIAN;
  const distance = finite(distanceM, 'distance_m');
  if (!(distance >= 0 && distance <= FARTHEST_M))
    throw new SurveyError('distance_out_of_range', 'distance_m');
  const [sinU, cosU] = reduced(lat);
  const [sinA, cosA] = [Math.sin(alpha), Math.cos(alpha)];
  const sin0 = sinA * cosU;
  const cos0 = Math.sqrt(cosA * cosA + sinA * sinA * sinU * sinU);
  const first = Math.atan2(sinU, cosA * cosU);
  const eps = expansion(SECOND_ECC2 * cos0 * cos0);
  const [factor, coefficients] = distanceSeries(eps);
  const tau = first + wave(coefficients, first);
  const step = distance / (SEMI_MINOR_M * factor);
  const arc = between(arcSeries(eps), tau, tau + step, step);
  const [sin, cos] = [Math.sin(arc), Math.cos(arc)];
  const north = cosU * cos * cosA - sinU * sin;
  const flat = KEEP * Math.sqrt(sin0 * sin0 + north * north);
  const omega = Math.atan2(sin * sinA, cosU * cos - sinU * sin * cosA);
  const turn = omega - FLATTENING * sin0 * between(longitudeSeries(eps, THIRD), first, first + arc, arc);
  return {
    lat_deg: Math.atan2(sinU * cos + cosU * sin * cosA, flat) / RADIAN,
    lon_deg: halfTurn(lon + turn / RADIAN),
    azimuth_deg: bearing([sin0, north])
  };
}

/**
 * @param {number} fromLatDeg
 * @param {number} fromLonDeg
 * @param {number} toLatDeg
 * @param {number} toLonDeg
 * @returns {Line}
 */
export function inverse(fromLatDeg, fromLonDeg, toLatDeg, toLonDeg) {
  const [lat1, lon1] = checked(fromLatDeg, fromLonDeg, 'from_');
  const [lat2, lon2] = checked(toLatDeg, toLonDeg, 'to_');
  const apart = halfTurn(lon2 - lon1) * RADIAN;
  if (lat1 === lat2 && (apart === 0 || Math.abs(lat1) === 90)) {
    return { distance_m: 0, azimuth_from_deg: 0, azimuth_to_deg: 0 };
  }
  const [one, two] = [reduced(lat1), reduced(lat2)];
  // the sine of the difference of the reduced latitudes, exact for places close together
  const lean = Math.sin((lat2 - lat1) * RADIAN) * KEEP * scaleOf(lat1) * scaleOf(lat2);
  let omega = apart;
  for (let tries = 0; tries < TRIES; tries += 1) {
    const { first, arc, sin0, eps } = onSphere(one, two, lean, omega);
    const better = apart + FLATTENING * sin0 * between(longitudeSeries(eps, THIRD), first, first + arc, arc);
    const settled = Math.abs(better - omega) <= SETTLED * (1 + Math.abs(apart));
    omega = better;
    if (Math.abs(omega) > Math.PI) break;
    if (settled) {
      const line = onSphere(one, two, lean, omega);
      const length =
        SEMI_MINOR_M * between(distanceSeries(line.eps), line.first, line.first + line.arc, line.arc);
      return { distance_m: length, azimuth_from_deg: bearing(line.from), azimuth_to_deg: bearing(line.to) };
    }
  }
  throw new SurveyError('geodesic_not_settled', 'to_lon_deg');
}

/** @param {number} latDeg @param {number} lonDeg @param {number} eM @param {number} nM @returns {Place} */
export function geodeticOfLocal(latDeg, lonDeg, eM, nM) {
  const [e, n] = [finite(eM, 'e_m'), finite(nM, 'n_m')];
  const distance = Math.sqrt(e * e + n * n);
  if (distance > 1000000) throw new SurveyError('distance_out_of_range', 'e_m');
  if (distance === 0) {
    const [lat, lon] = checked(latDeg, lonDeg, '');
    return { lat_deg: lat, lon_deg: lon, azimuth_deg: 0 };
  }
  return direct(latDeg, lonDeg, Math.atan2(e, n) / RADIAN, distance);
}

/**
 * @param {number} latDeg
 * @param {number} lonDeg
 * @param {number} toLatDeg
 * @param {number} toLonDeg
 * @returns {Local}
 */
export function localOfGeodetic(latDeg, lonDeg, toLatDeg, toLonDeg) {
  const line = inverse(latDeg, lonDeg, toLatDeg, toLonDeg);
  const alpha = line.azimuth_from_deg * RADIAN;
  return { e_m: line.distance_m * Math.sin(alpha), n_m: line.distance_m * Math.cos(alpha) };
}

/** @param {number} latDeg @param {number} lonDeg @param {string} which @returns {Pair} */
function checked(latDeg, lonDeg, which) {
  const [lat, lon] = [finite(latDeg, `${which}lat_deg`), finite(lonDeg, `${which}lon_deg`)];
  if (!(lat >= -90 && lat <= 90)) throw new SurveyError('latitude_out_of_range', `${which}lat_deg`);
  if (!(lon >= -360 && lon <= 360)) throw new SurveyError('longitude_out_of_range', `${which}lon_deg`);
  return [lat, lon];
}

/** Cosine of the reduced latitude over that of the latitude. @param {number} latDeg @returns {number} */
function scaleOf(latDeg) {
  const [sin, cos] = [Math.sin(latDeg * RADIAN), Math.cos(latDeg * RADIAN)];
  return 1 / Math.sqrt(cos * cos + KEEP * KEEP * sin * sin);
}

/** Sine and cosine of the reduced latitude. @param {number} latDeg @returns {Pair} */
function reduced(latDeg) {
  const scale = scaleOf(latDeg);
  return [KEEP * Math.sin(latDeg * RADIAN) * scale, Math.cos(latDeg * RADIAN) * scale];
}

/** @param {Pair} one @param {Pair} two @param {number} lean @param {number} omega */
function onSphere([sin1, cos1], [sin2, cos2], lean, omega) {
  const half = Math.sin(omega / 2);
  const turn = 2 * half * half;
  /** @type {Pair} */
  const from = [cos2 * Math.sin(omega), lean + sin1 * cos2 * turn];
  /** @type {Pair} */
  const to = [cos1 * Math.sin(omega), lean - cos1 * sin2 * turn];
  const sinArc = Math.sqrt(from[0] * from[0] + from[1] * from[1]);
  const arc = Math.atan2(sinArc, sin1 * sin2 + cos1 * cos2 * Math.cos(omega));
  const sin0 = sinArc > 0 ? (cos1 * from[0]) / sinArc : 0;
  const eps = expansion(SECOND_ECC2 * Math.max(0, 1 - sin0 * sin0));
  const first = Math.atan2(sin1 * sinArc, cos1 * from[1]);
  return { from, to, first, arc, sin0, eps };
}

/** @param {Pair} part east and north @returns {number} */
function bearing([east, north]) {
  const deg = Math.atan2(east, north) / RADIAN;
  const turned = deg < 0 ? deg + 360 : deg;
  return turned >= 360 ? 0 : turned;
}

/** The same direction between -180 and 180. @param {number} deg @returns {number} */
function halfTurn(deg) {
  let turned = deg;
  while (turned > 180) turned -= 360;
  while (turned < -180) turned += 360;
  return turned;
}
