/** The figures of a run in sentences, in the words that the pack uses for them too. */
import { decimalText, signedText } from '../survey/decimals.js';
import { ASSUMED } from '../survey/instruments.js';
import { atLeastText, degreesText, knownWord, metres } from '../survey/wording.js';
import { t } from '../text/en.js';

/** @typedef {import('./run_figures.js').Figures} Figures */
/** @typedef {{key: string, tone: 'notice' | 'plain', icon: string, words: string}} Line */

/** @param {number} m @returns {string} a place along the pipe, to the centimetre */
export function place(m) {
  return decimalText(m, 2);
}

/** @param {string} code @returns {string} a finding or refusal in words */
export function codeWords(code) {
  const key = /** @type {any} */ (`code.${code}`);
  const words = t(key);
  return words === key ? t('code.other', { code }) : words;
}

/** A fall between two stations. @param {import('../survey/length_table.js').LengthRow} row @returns {string} */
export function fallText(row) {
  if (row.fall_m === null) return atLeastText(negative(row.high_fall_m), negative(row.low_fall_m));
  return riseText(-row.fall_m, row.sd_m);
}

/** @param {number} rise @param {number | null} sd @returns {string} "falls 0.441 m, sd 0.015 m" */
export function riseText(rise, sd) {
  return t(rise > 0 ? 'falls.rises' : 'falls.falls', { m: metres(Math.abs(rise), sd) });
}

/** @param {number | null} value @returns {number | null} */
function negative(value) {
  return value === null ? null : 0 - value;
}

/** How the end of the run stands against its start. @param {Figures} figures @returns {{words: string, known: string, last: number} | null} */
export function wholeFall(figures) {
  const { profile } = figures;
  if (!profile || profile.stations.length < 2) return null;
  const last = profile.stations[profile.stations.length - 1];
  if (profile.rise_m !== null) {
    const assumed = last.known === 'assumed';
    return { words: riseText(profile.rise_m, profile.rise_sd_m), known: assumed ? 'assumed' : 'computed', last: last.chainage_m };
  }
  const bounds = figures.wholeRise;
  return { words: bounds ? atLeastText(bounds.low_m, bounds.high_m) : t('known.unknown'), known: 'bounded', last: last.chainage_m };
}

/** What the levels say of water, ties and what is still open; the weightiest first. @param {Figures} figures @returns {Line[]} */
export function levelLines(figures) {
  const { profile, water, model } = figures;
  if (!profile || !model) return [];
  return [...tieLines(figures), ...(water?.backfalls ?? []).map(backfallLine), ...(water?.sags ?? []).map(sagLine), ...settleLine(figures)];
}

/** @param {import('../survey/ponding.js').Backfall} one @returns {Line} */
export function backfallLine(one) {
  const key = one.at_least ? 'fig.backfall_bounded' : one.sure ? 'fig.backfall' : 'fig.backfall_unsure';
  const words = t(key, { from: place(one.from_m), to: place(one.to_m), rise: metres(one.rise_m, one.sd_m), known: knownWord('computed') });
  return { key: `backfall ${one.from_m}`, tone: one.sure || one.at_least ? 'notice' : 'plain', icon: 'up', words };
}

/** @param {import('../survey/ponding.js').Sag} one @returns {Line} */
export function sagLine(one) {
  const key = one.at_least ? 'fig.sag_bounded' : one.sure ? 'fig.sag' : 'fig.sag_unsure';
  const words = t(key, {
    from: place(one.from_m), to: place(one.to_m), depth: metres(one.depth_m, one.sd_m), low: place(one.low_m), known: knownWord('computed'),
  });
  return { key: `sag ${one.from_m}`, tone: one.sure || one.at_least ? 'notice' : 'plain', icon: 'water', words };
}

/** @param {Figures} figures @returns {Line[]} */
export function tieLines({ profile, model }) {
  if (!profile || !model) return [];
  const blunders = new Set(profile.blunders.filter((one) => one.kind === 'tie').map((one) => one.index));
  /** @type {Line[]} */
  const lines = profile.ties.map((check) => {
    const m = place(model.ties[check.tie].chainage_m);
    if (check.rest_m === null || check.standardised === null) return { key: `tie ${check.tie}`, tone: 'plain', icon: 'tie', words: t('fig.tie_alone', { m }) };
    const values = { m, size: metres(Math.abs(check.rest_m), check.rest_sd_m), standardised: timesText(check.standardised) };
    const bad = blunders.has(check.tie);
    return { key: `tie ${check.tie}`, tone: bad ? 'notice' : 'plain', icon: 'tie', words: t(bad ? 'fig.tie_blunder' : 'fig.tie', values) };
  });
  for (const one of profile.blunders) {
    lines.push({ key: `suspect ${one.kind} ${one.index}`, tone: 'notice', icon: 'alert', words: suspectWords(one) });
  }
  for (const gap of profile.gaps.filter((one) => !one.consistent)) {
    const m = place(model.readings[gap.reading].chainage_m);
    lines.push({ key: `gap ${gap.reading}`, tone: 'notice', icon: 'alert', words: t('fig.gap_unexplained', { m, deg: degreesText(gap.deg ?? gap.low_deg) }) });
  }
  return lines;
}

/** @param {number} standardised */
function timesText(standardised) {
  return Math.abs(standardised) > 999 ? t('fig.many_times') : decimalText(Math.abs(standardised), 1);
}

/** @param {import('../survey/levels.js').Suspect} one */
function suspectWords(one) {
  const off = t('fig.suspect_off', { size: metres(Math.abs(one.size_m), null), times: timesText(one.standardised) });
  if (one.kind === 'tie') return t('fig.suspect_tie', { m: place(one.from_m), off });
  if (one.kind === 'start') return t('fig.suspect_start', { off });
  return t('fig.suspect_readings', { from: place(one.from_m), to: place(one.to_m), off });
}

/** A volume in litres, from a cubic metre up in cubic metres. @param {number | null} volumeM3 */
export function volumeText(volumeM3) {
  if (volumeM3 === null) return t('falls.sag_volume_none');
  return volumeM3 < 1 ? t('falls.litres', { n: decimalText(1000 * volumeM3, 0) }) : t('falls.cubic', { n: decimalText(volumeM3, 1) });
}

/** Said while a level at the far end would still do something. @param {Figures} figures @returns {Line[]} */
function settleLine(figures) {
  const { profile, settled } = figures;
  if (!profile || !settled || profile.stations.length < 2) return [];
  if (profile.stations[profile.stations.length - 1].known === 'measured') return [];
  const key = /** @type {any} */ (`fig.settle${settled.both_ends ? '_both' : ''}${settled.now_sd_m === null ? '_gap' : ''}`);
  const words = t(key, { own: spreadText(ASSUMED.tie_sd_m), now: spreadText(settled.now_sd_m ?? 0), then: spreadText(settled.sd_m) });
  return [{ key: 'settle', tone: 'plain', icon: 'tie', words }];
}

/** A standard deviation alone, rounded as beside its value. @param {number} sd */
function spreadText(sd) {
  return metres(sd, sd).split(', sd ')[1];
}

/** What is assumed of the instruments, each with the check that would replace it.
 * @param {Figures} figures @returns {Array<{words: string, check: string}>} */
export function assumedTools({ tools }) {
  const found = [];
  if (tools.scale_known === 'assumed') found.push({ words: t('tools.scale', { pct: decimalText(100 * tools.scale_sd, 1) }), check: 'counter_tape' });
  if (tools.zero_known === 'assumed') found.push({ words: t('tools.zero', { deg: decimalText(tools.zero_sd_deg, 2) }), check: 'inclinometer_reversed' });
  if (tools.sd_known === 'assumed') found.push({ words: t('tools.sd', { deg: decimalText(tools.sd_deg, 2) }), check: 'inclinometer_limit' });
  if (tools.limit_known === 'assumed') found.push({ words: t('tools.limit', { deg: decimalText(tools.limit_deg, 1) }), check: 'inclinometer_limit' });
  return found;
}

/** @param {Figures} figures @returns {string} */
export function checkedTools({ tools }) {
  return t('tools.checked', {
    scale: decimalText(tools.scale, 4), scale_known: tools.scale_known, zero: signedText(tools.zero_deg, 2), zero_sd: decimalText(tools.zero_sd_deg, 2),
    zero_known: tools.zero_known, limit: decimalText(tools.limit_deg, 1), limit_known: tools.limit_known,
  });
}
