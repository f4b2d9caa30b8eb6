/** The covariance of levels whose units hang together. Twin of webapp/survey/levels/chain.py. */

/**
 * @typedef {{load_m: number[], log_keep: number[], ahead_m: number[], unit: number[], rest_m: number[],
 *   rest_load_m: number[], with_slope_m: number[], with_course_m: number[]}} Chain
 */

/**
 * Covariance of two levels, `left` not beyond `right` [m2].
 * @param {Chain} chain @param {number[]} varianceM2 @param {number} left @param {number} right
 * @returns {number}
 */
export function chainCovariance(chain, varianceM2, left, right) {
  const total = varianceM2[left];
  const [a, b] = [chain.unit[left], chain.unit[right]];
  if (a === b) return total + (chain.rest_m[left] - chain.rest_m[right]) * chain.with_slope_m[left];
  const kept = Math.exp(chain.log_keep[b] - chain.log_keep[a]);
  const further = chain.ahead_m[a] - kept * (chain.ahead_m[b] + chain.rest_load_m[right]);
  return total + chain.rest_m[left] * chain.with_slope_m[left] + chain.with_course_m[left] * further;
}
