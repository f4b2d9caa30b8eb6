/** What was typed for an inclination, and what it means: shared by the reading form and the checks. */
import { gradientOf, inclinationDeg, parseInclination } from '../../survey/instruments/gradient.js';
import { inclinationText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { fixed, listed } from '../../ui/format.js';

/** @typedef {import('../../records/types.js').Inclination} Inclination */
/** @typedef {import('../../records/types.js').InclinationUnit} InclinationUnit */
/** @typedef {import('../../survey/errors.js').SurveyError} SurveyError */
/** @typedef {Inclination['sense'] | ''} Sense */
/** @typedef {{text: string, unit: InclinationUnit, sense: Sense, over: boolean}} InclinationDraft */

/**
 * The value to store, or why there is none.
 * @param {InclinationDraft} draft
 * @returns {{value: Inclination | null, error?: string}}
 */
export function readInclination(draft) {
  if (draft.over) {
    if (draft.sense !== 'rising' && draft.sense !== 'falling')
      return { value: null, error: t('incl.over_needs_sense') };
    return { value: { sense: draft.sense, over_range: true } };
  }
  if (draft.text.trim() === '') {
    return draft.sense === 'level' ? { value: { size: 0, unit: 'deg', sense: 'level' } } : { value: null };
  }
  try {
    const parsed = parseInclination(draft.text, draft.unit);
    const sense = parsed.sense ?? draft.sense;
    if (!sense || (sense === 'level' && parsed.size !== 0))
      return { value: null, error: t('incl.needs_sense') };
    return { value: { ...parsed, sense } };
  } catch (error) {
    return {
      value: null,
      error: t(`incl_fault.${/** @type {{code: 'inclination_unreadable'}} */ (error).code}`)
    };
  }
}

/** @param {Inclination | null | undefined} value a stored inclination @returns {InclinationDraft} */
export function inclinationDraft(value) {
  if (!value) return { text: '', unit: 'deg', sense: '', over: false };
  const unit = value.unit ?? 'deg';
  const own = value.unit === 'permille' ? ' ‰' : '';
  const text = value.over_range
    ? ''
    : value.size === null || value.size === undefined
      ? ''
      : `${value.size}${own}`;
  return { text: value.typed ?? text, unit, sense: value.sense ?? '', over: Boolean(value.over_range) };
}

/** @param {boolean} rising @returns {string} */
function senseWord(rising) {
  return t(rising ? 'incl.rising' : 'incl.falling');
}

/**
 * "1 in 80 falling, 0.72 degrees, 1.25 %". @param {Inclination | null | undefined} value @returns {string}
 */
export function meaning(value) {
  return listed(meaningParts(value));
}

/**
 * The same, one thing after the other; the first says most.
 * @param {Inclination | null | undefined} value
 * @returns {string[]}
 */
export function meaningParts(value) {
  if (!value) return [];
  const deg = inclinationDeg(value);
  return deg === null ? [inclinationText(value)] : gradientParts(deg);
}

/** Beyond this a gradient says less than the angle does. */
const STEEP_DEG = 80;

/** @param {number} deg @returns {string[]} */
function gradientParts(deg) {
  const gradient = gradientOf(deg);
  if (Math.abs(deg) > STEEP_DEG) {
    const sense = senseWord(deg > 0);
    if (Math.abs(deg) === 90) return [t('incl.vertical', { sense }), t('incl.degrees_of', { deg: '90' })];
    return [t('incl.steep', { deg: fixed(Math.abs(deg), 2), sense }), t('incl.nearly_vertical')];
  }
  if (gradient.one_in === null)
    return [t('incl.quite_level'), t('incl.degrees_of', { deg: '0' }), t('incl.percent_of', { pct: '0' })];
  const pct = (/** @type {number} */ places) =>
    t('incl.percent_of', { pct: fixed(Math.abs(gradient.pct), places) });
  if (gradient.one_in > 9999) return [t('incl.almost_level'), pct(4)];
  return [
    t('incl.one_in_of', { one_in: oneIn(gradient.one_in), sense: senseWord(deg > 0) }),
    t('incl.degrees_of', { deg: fixed(Math.abs(deg), 2) }),
    pct(2)
  ];
}

/** @param {number} n @returns {string} */
export function oneIn(n) {
  return fixed(n, n >= 20 ? 0 : n >= 2 ? 1 : 2);
}

/** @param {Inclination | null | undefined} value @returns {'up' | 'down' | 'flat' | 'beyond'} */
export function inclinationIcon(value) {
  if (value?.over_range) return 'beyond';
  if (!value || value.size === 0 || value.sense === 'level') return 'flat';
  return value.sense === 'rising' ? 'up' : 'down';
}
