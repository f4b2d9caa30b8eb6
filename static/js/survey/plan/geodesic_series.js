/** Series of the geodesic on an ellipsoid. Twin of webapp/survey/plan/geodesic_series.py. */
import { SurveyError } from '../errors.js';

/** @typedef {[number, number[]]} Series */

/** @param {number} k2 @returns {number} */
export function expansion(k2) {
  if (!(k2 >= 0)) throw new SurveyError('number_out_of_range', 'k2');
  return k2 / (2 * (1 + Math.sqrt(1 + k2)) + k2);
}

/** @param {number} eps @returns {Series} */
export function distanceSeries(eps) {
  const e = small(eps);
  const e2 = e * e;
  const factor = (1 + e2 * (1 / 4 + e2 * (1 / 64 + e2 / 256))) / (1 - e);
  return [
    factor,
    [
      e * (-1 / 2 + e2 * (3 / 16 - e2 / 32)),
      e2 * (-1 / 16 + e2 * (1 / 32 - (9 * e2) / 2048)),
      e * e2 * (-1 / 48 + (3 * e2) / 256),
      e2 * e2 * (-5 / 512 + (3 * e2) / 512),
      e * e2 * e2 * (-7 / 1280),
      e2 * e2 * e2 * (-7 / 2048)
    ]
  ];
}

/** @param {number} eps @returns {Series} */
export function arcSeries(eps) {
  const e = small(eps);
  const e2 = e * e;
  return [
    1,
    [
      e * (1 / 2 + e2 * (-9 / 32 + (205 * e2) / 1536)),
      e2 * (5 / 16 + e2 * (-37 / 96 + (1335 * e2) / 4096)),
      e * e2 * (29 / 96 - (75 * e2) / 128),
      e2 * e2 * (539 / 1536 - (2391 * e2) / 2560),
      e * e2 * e2 * (3467 / 7680),
      e2 * e2 * e2 * (38081 / 61440)
    ]
  ];
}

/** @param {number} eps @param {number} n @returns {Series} */
export function longitudeSeries(eps, n) {
  const e = small(eps);
  const n2 = n * n;
  const a2 = 1 / 4 + n / 8 - (3 * n2) / 8;
  const a3 = 1 / 16 + (3 * n) / 16 + n2 / 16;
  const factor = 1 - e * ((1 - n) / 2 + e * (a2 + e * (a3 + e * (3 / 64 + n / 32 + (e * 3) / 128))));
  const c1 =
    (1 - n) / 4 + e * ((1 - n2) / 8 + e * ((3 + 3 * n - n2) / 64 + e * ((5 + 2 * n) / 128 + (e * 3) / 128)));
  const c2 = (2 - 3 * n + n2) / 32 + e * ((3 - 2 * n - 3 * n2) / 64 + e * ((3 + n) / 128 + (e * 5) / 256));
  const c3 = (5 - 9 * n + 5 * n2) / 192 + e * ((9 - 10 * n) / 384 + (e * 7) / 512);
  const c4 = (7 - 14 * n) / 512 + (e * 7) / 512;
  const e2 = e * e;
  return [factor, [e * c1, e2 * c2, e * e2 * c3, e2 * e2 * c4, (e * e2 * e2 * 21) / 2560]];
}

/**
 * @param {Series} series
 * @param {number} first
 * @param {number} second
 * @param {number} arc
 * @returns {number}
 */
export function between(series, first, second, arc) {
  const [factor, coefficients] = series;
  let total = arc;
  coefficients.forEach((c, place) => {
    const times = place + 1;
    total += 2 * c * Math.cos(times * (first + second)) * Math.sin(times * arc);
  });
  return factor * total;
}

/** @param {number[]} coefficients @param {number} arc @returns {number} */
export function wave(coefficients, arc) {
  let total = 0;
  coefficients.forEach((c, place) => {
    total += c * Math.sin(2 * (place + 1) * arc);
  });
  return total;
}

/** @param {number} eps @returns {number} */
function small(eps) {
  if (!(eps >= 0 && eps <= 0.1)) throw new SurveyError('number_out_of_range', 'eps');
  return eps;
}
