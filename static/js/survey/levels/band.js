/** The band that holds a level 95 times in 100. Twin of webapp/survey/levels/band.py. */

/** @typedef {import('./levels.js').LevelStation} LevelStation */

const [SIGMAS_95, SIGMAS_BOUND] = [1.96, 3];

/** @param {LevelStation} station @returns {[number, number] | null} */
export function band95(station) {
  if (station.low_m === null || station.high_m === null) return null;
  const sigmas = station.level_m === null ? SIGMAS_BOUND : SIGMAS_95;
  return [
    station.low_m - sigmas * (station.low_sd_m || 0),
    station.high_m + sigmas * (station.high_sd_m || 0)
  ];
}
