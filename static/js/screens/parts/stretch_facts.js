/** What is known of a stretch as rows of name, value and how it is known: bore, roughness, gradient. */
import { h } from '../../ui/elements.js';
import { findCode } from '../../survey/coding/codes.js';
import { fixedText, knownWord, litresText, oneInText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, listed, phrases } from '../../ui/format.js';

/** @typedef {import('../../survey/section/bore.js').Bore} Bore */
/** @typedef {import('../../survey/flow/disputed_pipe.js').SpannedRow} SpannedRow */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {{low_m3_s: number | null, mean_m3_s: number | null, high_m3_s: number | null}} Band */
/** @typedef {[string, string, string]} Fact */

/** @param {Band | null} band @returns {string} "21.9 l/s", "at least 772 l/s", "no number" */
export function litres(band) {
  if (!band) return t('cap.none');
  const { low_m3_s: low, mean_m3_s: mean, high_m3_s: high } = band;
  if (mean !== null) return t('cap.l_s', { q: litresText(mean) });
  if (low !== null && high !== null) return t('cap.between', { a: litresText(low), b: litresText(high) });
  if (low !== null) return t('cap.at_least', { a: litresText(low) });
  if (high !== null) return t('cap.at_most', { b: litresText(high) });
  return t('cap.none');
}

/** @param {App} app @param {SpannedRow} row @returns {string} */
export function sizeWords(app, row) {
  if (row.disputed)
    return t('cap.sizes_disputed', {
      sizes: listed(
        (row.bores ?? []).map((bore) => boreWords(app, bore)),
        'disjunction'
      )
    });
  return row.bore ? boreWords(app, row.bore) : knownWord(null);
}

/** @param {App} app @param {Bore} bore @returns {string} */
function boreWords(app, bore) {
  const mm = (/** @type {number} */ m) => fixedText(1000 * m, 0);
  const size =
    bore.width_m && bore.kind !== 'circular'
      ? t('size.two_mm', { height: mm(bore.height_m), width: mm(bore.width_m) })
      : t('size.mm', { size: mm(bore.height_m) });
  const kind = app.tables.shapes.rows.find((one) => one.value === bore.kind)?.label ?? t('cap.kind_deformed');
  return listed([kind, size]);
}

/** @param {App} app @param {SpannedRow} row @param {string} size @returns {Fact[]} */
export function sizeFacts(app, row, size) {
  /** @type {Fact[]} */
  const found = [[t('cap.size'), size, knownWord(row.size_known)]];
  for (const one of row.narrowings) {
    const title = findCode(app.tables.observation_codes.rows, one.code)?.title ?? one.code;
    const words =
      one.left_pct !== null
        ? t('cap.leaves', { pct: fixedText(one.left_pct, 0) })
        : t('cap.leaves_between', { a: fixedText(one.least_pct, 0), b: fixedText(one.most_pct, 0) });
    found.push([title, words, t('cap.narrowing')]);
  }
  return found;
}

/** @param {number} mm @returns {string} */
function mmText(mm) {
  return fixedText(mm, mm < 0.1 ? 3 : mm < 10 ? 2 : 0);
}

/** @param {SpannedRow} row @param {boolean} recorded @returns {Fact[]} */
export function roughnessFacts(row, recorded) {
  if (row.roughness_mm === null) return [];
  const mm = t('size.mm', { size: mmText(row.roughness_mm) });
  const range =
    row.roughness_low_mm === null
      ? ''
      : t('cap.roughness_range', {
          a: mmText(row.roughness_low_mm),
          b: mmText(Number(row.roughness_high_mm))
        });
  return [
    [
      t('cap.roughness'),
      mm,
      phrases([t(recorded ? 'cap.roughness_recorded' : 'cap.roughness_default'), range])
    ]
  ];
}

/** @param {SpannedRow} row @returns {Fact[]} */
export function wholeFact(row) {
  return row.carries.gradient === null ||
    row.gradient === null ||
    slope(row.carries.gradient) === slope(row.gradient)
    ? []
    : [[t('cap.gradient_whole'), slope(row.carries.gradient), '']];
}

/** @param {SpannedRow} row @returns {Fact} */
export function gradientFact(row) {
  const band =
    row.gradient_low !== null && row.gradient_high !== null
      ? t('cap.gradient_band', { a: slope(row.gradient_low), b: slope(row.gradient_high) })
      : '';
  const known = row.gradient_known === 'unknown' ? knownWord(null) : knownWord(row.gradient_known);
  if (row.gradient === null)
    return [
      t('cap.gradient'),
      band
        ? t('cap.gradient_bounds', { a: slope(row.gradient_low), b: slope(row.gradient_high) })
        : knownWord(null),
      known
    ];
  return [t('cap.gradient'), slope(row.gradient), listed([band, known])];
}

/** A fall with the flow, along the pipe, in words. @param {number | null} sine @returns {string} */
function slope(sine) {
  return sine === null ? knownWord(null) : oneInText((-Math.asin(sine) * 180) / Math.PI);
}

/** @param {Fact[]} list */
export function facts(list) {
  return h(
    'dl',
    { class: 'facts' },
    ...list.flatMap(([label, value, how]) => [
      h('dt', null, label),
      h('dd', null, keepUnits(value), how ? h('span', { class: 'how' }, keepUnits(how)) : null)
    ])
  );
}
