/** What the screens of a run say of its figures, line by line; the sentences are the pack's as well. */
import { ASSUMED } from '../../survey/instruments/instruments.js';
import {
  atLeastText,
  backfallText,
  changeParts,
  changeText,
  fixedSignedText,
  fixedText,
  gapText,
  levelFindingText,
  knownWord,
  metres,
  placeText,
  sagText,
  settleText,
  suspectText,
  timesText
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {{key: string, tone: 'notice' | 'plain', icon: string, words: string}} Line */

/**
 * A fall between two stations.
 * @param {import('../../survey/levels/falls.js').LengthRow} row
 * @returns {string}
 */
export function fallText(row) {
  if (row.fall_m === null) return atLeastText(negative(row.high_fall_m), negative(row.low_fall_m));
  return changeText(-row.fall_m, row.sd_m);
}

/** @param {number | null} value @returns {number | null} */
function negative(value) {
  return value === null ? null : 0 - value;
}

/** The word for how a level or a fall is known. @param {string} provenance */
export function knownOf(provenance) {
  return provenance === 'contradicted' ? t('known.contradicted') : knownWord(provenance);
}

/**
 * How the end of the run stands against its start.
 * @param {Figures} figures
 * @returns {{words: string, figure: string, spread: string, known: string, last: number} | null}
 */
export function wholeFall(figures) {
  const { measured: profile, rise, rise_known: provenance } = figures;
  if (!profile) return null;
  const last = profile.stations[profile.stations.length - 1].chainage_m;
  const end = { known: provenance, last };
  if (!rise || rise.value_m === null) {
    const words = rise ? atLeastText(rise.low_m, rise.high_m) : t('known.unknown');
    return { words, figure: words, spread: '', ...end };
  }
  const [figure, spread] = changeParts(rise.value_m, rise.sd_m);
  return { words: changeText(rise.value_m, rise.sd_m), figure, spread, ...end };
}

/**
 * What the levels say of water, ties and what is still open; the weightiest first.
 * @param {Figures} figures
 * @returns {Line[]}
 */
export function levelLines(figures) {
  const { profile, water, model } = figures;
  if (!profile || !model) return [];
  return [
    ...tieLines(figures),
    ...(water?.backfalls ?? []).map(backfallLine),
    ...(water?.sags ?? []).map(sagLine),
    ...settleLine(figures)
  ];
}

/** @param {import('../../survey/levels/ponding.js').Backfall} one @returns {Line} */
export function backfallLine(one) {
  const words = backfallText(one);
  return {
    key: `backfall ${one.from_m}`,
    tone: one.sure || one.at_least ? 'notice' : 'plain',
    icon: 'up',
    words
  };
}

/** @param {import('../../survey/levels/ponding.js').Sag} one @returns {Line} */
export function sagLine(one) {
  const words = sagText(one);
  return {
    key: `sag ${one.from_m}`,
    tone: one.sure || one.at_least ? 'notice' : 'plain',
    icon: 'water',
    words
  };
}

/**
 * Level ties in order of chainage, each with its number in the model.
 * @template {{chainage_m: number}} T @param {T[]} ties @returns {Array<[T, number]>}
 */
export function tiesAlong(ties) {
  return ties
    .map((tie, number) => /** @type {[T, number]} */ ([tie, number]))
    .sort(([a], [b]) => a.chainage_m - b.chainage_m);
}

/** @param {Figures} figures @returns {Line[]} */
export function tieLines(figures) {
  const { profile, model } = figures;
  if (!profile || !model) return [];
  const blunders = new Set(profile.blunders.filter((one) => one.kind === 'tie').map((one) => one.index));
  const placeOf = (/** @type {{tie: number}} */ check) => model.ties[check.tie].chainage_m;
  /** @type {Line[]} */
  const lines = [...profile.ties]
    .sort((a, b) => placeOf(a) - placeOf(b))
    .map((check) => {
      const m = placeText(placeOf(check));
      if (check.rest_m === null || check.standardised === null)
        return { key: `tie ${check.tie}`, tone: 'plain', icon: 'tie', words: t('fig.tie_alone', { m }) };
      const values = {
        m,
        size: metres(Math.abs(check.rest_m), check.rest_sd_m),
        standardised: timesText(check.standardised)
      };
      const bad = blunders.has(check.tie);
      return {
        key: `tie ${check.tie}`,
        tone: bad ? 'notice' : 'plain',
        icon: 'tie',
        words: t(bad ? 'fig.tie_blunder' : 'fig.tie', values)
      };
    });
  for (const one of profile.blunders) {
    lines.push({
      key: `suspect ${one.kind} ${one.index}`,
      tone: 'notice',
      icon: 'alert',
      words: suspectText(one.kind, one.from_m, one.to_m, one.size_m, one.standardised)
    });
  }
  for (const one of figures.level_findings) {
    const key = `${one.code} ${one.m}`;
    lines.push({ key, tone: 'notice', icon: 'alert', words: levelFindingText(one) });
  }
  for (const gap of profile.gaps.filter((one) => !one.consistent)) {
    const words = gapText(readAt(figures, gap.reading), gap.deg ?? gap.low_deg);
    lines.push({ key: `gap ${gap.reading}`, tone: 'notice', icon: 'alert', words });
  }
  return lines;
}

/**
 * Where a reading was read: in the model it stands at the beginning of the straight pipe that holds it.
 * @param {Figures} figures
 * @param {number} place in the model
 * @returns {number}
 */
function readAt({ model, records, placeOf }, place) {
  const counterM = records.readings.find((one) => one.id === model?.reading_ids[place])?.fields.counter_m;
  return typeof counterM === 'number' ? placeOf(counterM) : Number(model?.readings[place].chainage_m);
}

/**
 * The level at a tie after all levels and readings are fitted together, with its spread.
 * @param {Figures} figures
 * @param {number} tie its place in the model
 * @returns {string}
 */
export function adjustedText({ profile }, tie) {
  const check = profile?.ties.find((one) => one.tie === tie);
  const there = check && profile?.stations[check.station];
  return there ? metres(there.level_m, there.sd_m) : t('known.unknown');
}

/** Said while a level at the far end would still do something. @param {Figures} figures @returns {Line[]} */
function settleLine(figures) {
  const { profile, far_tie: settled } = figures;
  if (!profile || !settled) return [];
  if (['adjusted', 'measured'].includes(profile.stations[profile.stations.length - 1].known)) return [];
  const words = settleText(ASSUMED.tie_sd_m, settled.now_sd_m, settled.sd_m, settled.both_ends);
  return [{ key: 'settle', tone: 'plain', icon: 'tie', words }];
}

/** What is assumed of the instruments, each with the check that would replace it.
 * @param {Figures} figures @returns {Array<{words: string, check: string}>} */
export function assumedTools({ instruments }) {
  const found = [];
  if (instruments.scale_known === 'assumed')
    found.push({
      words: t('instruments.scale', { pct: fixedText(100 * instruments.scale_sd, 1) }),
      check: 'counter_tape'
    });
  if (instruments.zero_known === 'assumed')
    found.push({
      words: t('instruments.zero', { deg: fixedText(instruments.zero_sd_deg, 2) }),
      check: 'inclinometer_reversed'
    });
  if (instruments.sd_known === 'assumed')
    found.push({
      words: t('instruments.sd', { deg: fixedText(instruments.sd_deg, 2) }),
      check: 'inclinometer_limit'
    });
  if (instruments.limit_known === 'assumed')
    found.push({
      words: t('instruments.limit', { deg: fixedText(instruments.limit_deg, 1) }),
      check: 'inclinometer_limit'
    });
  return found;
}

/** @param {Figures} figures @returns {string} */
export function checkedTools({ instruments }) {
  return t('instruments.checked', {
    scale: fixedText(instruments.scale, 4),
    scale_known: instruments.scale_known,
    zero: fixedSignedText(instruments.zero_deg, 2),
    zero_sd: fixedText(instruments.zero_sd_deg, 2),
    zero_known: instruments.zero_known,
    limit: fixedText(instruments.limit_deg, 1),
    limit_known: instruments.limit_known
  });
}
