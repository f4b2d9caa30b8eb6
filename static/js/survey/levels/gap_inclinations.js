/**
 * What the level ties say of the inclination at readings beyond the range. Twin of
 * webapp/survey/levels/gap_inclinations.py.
 */

/**
 * @typedef {[number, number, boolean]} Settled least and greatest inclination, and whether it is one value
 */

const SPREADS = 2; // that many standard deviations to either side

/**
 * @param {string[]} readingIds
 * @param {import('./levels.js').SolvedGap[]} gaps
 * @returns {Object<string, Settled>}
 */
export function settledInclinations(readingIds, gaps) {
  /** @type {Object<string, Settled>} */
  const found = {};
  for (const gap of gaps) {
    if (!gap.consistent || gap.own_m <= 0) continue;
    if (gap.deg !== null) {
      const [size, spread] = [Math.abs(gap.deg), SPREADS * (gap.sd_deg || 0)];
      found[readingIds[gap.reading]] = [Math.max(0, size - spread), Math.min(90, size + spread), true];
    } else if (gap.low_deg !== null && gap.high_deg !== null) {
      const ends = [Math.abs(gap.low_deg), Math.abs(gap.high_deg)];
      const least = gap.low_deg < 0 && gap.high_deg > 0 ? 0 : Math.min(...ends);
      found[readingIds[gap.reading]] = [least, Math.max(...ends), false];
    }
  }
  return found;
}

/**
 * @param {string[]} readingIds
 * @param {Object<string, Settled>} settled
 * @returns {Object<number, Settled>}
 */
export function settledAt(readingIds, settled) {
  /** @type {Object<number, Settled>} */
  const found = {};
  readingIds.forEach((id, k) => {
    if (Object.hasOwn(settled, id)) found[k] = settled[id];
  });
  return found;
}
