/** Which of two bounds of a level says something. Twin of webapp/survey/levels/bound_side.py. */

/** @typedef {import('./levels.js').LevelProfile} LevelProfile */

/** @param {LevelProfile} profile @returns {string[]} */
export function levelSenses(profile) {
  const { stations, setup } = profile.solution;
  const floating = (setup.start_level_m ?? null) === null && stations.length > 0;
  const tied = floating ? stations : [0, ...stations];
  return profile.stations.map((_, k) => senseOf(profile, k, tied));
}

/** @param {LevelProfile} profile @param {number} k @param {number[]} tied @returns {string} */
function senseOf(profile, k, tied) {
  const station = profile.stations[k];
  if (station.level_m !== null) return '';
  if (station.low_m === null || station.high_m === null) {
    return station.low_m !== null ? 'at_least' : station.high_m !== null ? 'at_most' : 'unknown';
  }
  const before = tied.filter((t) => t <= k);
  const after = tied.filter((t) => t > k);
  if (before.length && after.length) return 'between';
  const ways = before.length
    ? waysOf(profile, before[before.length - 1], k, 1)
    : waysOf(profile, k, after[0], -1);
  if (ways.length === 1 && ways[0] === 1) return 'at_least';
  return ways.length === 1 && ways[0] === -1 ? 'at_most' : 'between';
}

/**
 * Ways in which the unsettled rises between two stations move the level at the open end.
 * @param {LevelProfile} profile
 * @param {number} left
 * @param {number} right
 * @param {number} sign
 * @returns {number[]}
 */
function waysOf(profile, left, right, sign) {
  const { walk } = profile.solution;
  const end = walk.gaps_done[right] + walk.gap_parts[right].length;
  /** @type {number[]} */
  const found = [];
  for (let u = walk.gaps_done[left]; u < end; u += 1) {
    if (profile.gaps[u].status === 'solved') continue;
    const gap = walk.gaps[u];
    const way = sign * gap.way;
    if (!found.includes(way)) found.push(way);
  }
  return found;
}
