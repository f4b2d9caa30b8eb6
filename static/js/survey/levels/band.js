/** The band that holds a level 95 times in 100. Twin of webapp/survey/levels/band.py. */

/** @typedef {import('./levels.js').LevelStation} LevelStation */

const SIGMAS_95 = 1.96;

/** @param {LevelStation} station @returns {[number, number] | null} */
export function band95(station) {
  if (station.low_m === null || station.high_m === null) return null;
  return [
    station.low_m - SIGMAS_95 * (station.low_sd_m || 0),
    station.high_m + SIGMAS_95 * (station.high_sd_m || 0)
  ];
}
