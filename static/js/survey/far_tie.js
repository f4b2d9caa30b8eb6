/** What a level taken at the far end would settle. Twin of webapp/survey/far_tie.py. */
import { spread } from './finite.js';

const LEAST_SD_M = 1e-5; // no level is known better than a hundredth of a millimetre

/** @param {import('./levels.js').LevelProfile} profile @param {number} sdM @returns {{now_sd_m: number | null, sd_m: number}} */
export function whatAFarTieSettles(profile, sdM) {
  const own = Math.max(spread(sdM, 'sd_m'), LEAST_SD_M);
  const last = profile.stations[profile.stations.length - 1];
  if (last.level_m === null || last.sd_m === null) return { now_sd_m: null, sd_m: own };
  return { now_sd_m: last.sd_m, sd_m: last.sd_m * own / Math.sqrt(last.sd_m * last.sd_m + own * own) };
}
