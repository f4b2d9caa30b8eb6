/** Which starts still wait for their finish, and the next free number. */

/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */

/** Continuous observations that were started and not finished, by code and number. @param {SurveyRecord[]} observations */
export function openContinuous(observations) {
  const key = (/** @type {SurveyRecord} */ one) => `${one.fields.code}/${one.fields.continuous.number}`;
  const finished = new Set(observations.filter((one) => one.fields.continuous?.role === 'finish').map(key));
  return observations.filter((one) => one.fields.continuous?.role === 'start' && !finished.has(key(one)));
}

/** @param {SurveyRecord[]} observations @returns {number} */
export function nextContinuousNumber(observations) {
  return 1 + Math.max(0, ...observations.map((one) => one.fields.continuous?.number ?? 0));
}
