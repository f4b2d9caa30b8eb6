/** What the readings say of themselves. Twin of webapp/survey/levels/reading_findings.py. */

/** @typedef {import('./levels.js').LevelProfile} LevelProfile */
/** @typedef {{code: string, m: number, times: number, deg: number}} LevelFinding */

const SURE_SDS = 3.09; // one in a thousand, on one side
const SUSPECT_AT = 6; // robust spreads from the course

/** @param {LevelProfile | null} profile @param {number[]} placesM @returns {LevelFinding[]} */
export function levelFindings(profile, placesM) {
  const noise = profile?.solution.walk.noise ?? null;
  if (profile === null || noise === null) return [];
  /** @type {LevelFinding[]} */
  const found = [];
  if (noise.freedom > 0) {
    const part = 2 / (9 * noise.freedom);
    const cube = (noise.squares / noise.freedom) ** (1 / 3);
    if ((cube - (1 - part)) / Math.sqrt(part) > SURE_SDS) {
      const times = Math.sqrt(noise.squares / noise.freedom);
      found.push({ code: 'readings_noisier', m: 0, times, deg: 0 });
    }
  }
  if (noise.step_deg > 0) found.push({ code: 'readings_on_grid', m: 0, times: 0, deg: noise.step_deg });
  for (const { reading, spreads } of profile.solution.walk.odd ?? []) {
    if (Math.abs(spreads) > SUSPECT_AT)
      found.push({ code: 'reading_suspect', m: placesM[reading], times: Math.abs(spreads), deg: 0 });
  }
  return found;
}
