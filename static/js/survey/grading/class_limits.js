/**
 * From a size, or from what is left of a capacity, to a class. Twin of webapp/survey/grading/class_limits.py.
 */

export const MILD = 1;
export const SEVERE = 5;

/** @param {number} size @param {Object<string, number>} limits @returns {number} */
export function classByLimits(size, limits) {
  let reached = Math.min(...Object.keys(limits).map(Number));
  for (const [one, limit] of Object.entries(limits)) {
    if (whole(size, 1000) >= whole(limit, 1000)) reached = Math.max(reached, Number(one));
  }
  return reached;
}

/** @param {number} leftPct @param {Object<string, number>} limits @returns {number} */
export function classByShare(leftPct, limits) {
  let reached = MILD;
  for (const [one, limit] of Object.entries(limits)) {
    if (whole(leftPct, 10) <= whole(limit, 10)) reached = Math.max(reached, Number(one));
  }
  return reached;
}

/** @param {number} value @param {number} perUnit @returns {number} */
function whole(value, perUnit) {
  return Math.floor(perUnit * value + 0.5);
}
