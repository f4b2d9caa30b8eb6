/** What a level taken at the far end would settle. Twin of webapp/survey/levels/tie_benefit.py. */
import { spread } from '../numbers/finite.js';

const MIN_SD_M = 1e-5; // no level is known better than a hundredth of a millimetre

/**
 * @param {import('./levels.js').LevelProfile} profile
 * @param {number} sdM
 * @returns {{now_sd_m: number | null, sd_m: number, both_ends: boolean}}
 */
export function whatAFarTieSettles(profile, sdM) {
  let own = Math.max(spread(sdM, 'sd_m'), MIN_SD_M);
  const last = profile.stations[profile.stations.length - 1];
  const both = profile.ties.length === 0 && (profile.solution.setup.start_level_m ?? null) === null;
  if (both) own *= Math.sqrt(2);
  if (last.level_m === null || last.sd_m === null) return { now_sd_m: null, sd_m: own, both_ends: both };
  const after = (last.sd_m * own) / Math.sqrt(last.sd_m * last.sd_m + own * own);
  return { now_sd_m: last.sd_m, sd_m: after, both_ends: both };
}
