/** What was typed for an inclination, and what it means: shared by the reading form and the checks. */
import { gradientOf, inclinationDeg, parseInclination } from '../../survey/instruments/gradient.js';
import { t } from '../../text/en.js';

/** @typedef {{text: string, unit: string, sense: string, over: boolean}} InclinationDraft */

/**
 * The value to store, or why there is none.
 * @param {InclinationDraft} draft
 * @returns {{value: any, error?: string}}
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
    return { value: null, error: t(/** @type {any} */ (`incl.${/** @type {any} */ (error).code}`)) };
  }
}

/** @param {any} value a stored inclination @returns {InclinationDraft} */
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

/** @param {any} value @returns {string} the inclination as it was read, with its unit */
export function asRead(value) {
  if (!value) return t('incl.none');
  if (value.over_range) return t(value.sense === 'rising' ? 'incl.beyond_rising' : 'incl.beyond_falling');
  if (value.size === 0 || value.sense === 'level') return t('incl.level');
  const size = value.unit === 'one_in' ? `1 in ${value.size}` : `${value.size} ${unitSign(value.unit)}`;
  return `${size} ${t(value.sense === 'rising' ? 'incl.rising' : 'incl.falling')}`;
}

/** @param {string} unit @returns {string} */
function unitSign(unit) {
  return { deg: 'degrees', pct: '%', permille: '‰' }[unit] ?? unit;
}

/** "1 in 80 falling, 0.72 degrees, 1.25 %". @param {any} value @returns {string} */
export function meaning(value) {
  if (!value) return '';
  const deg = inclinationDeg(value);
  if (deg === null) return asRead(value);
  return gradientWords(deg);
}

/** Beyond this a gradient says less than the angle does. */
const STEEP_DEG = 80;

/** @param {number} deg @returns {string} */
export function gradientWords(deg) {
  const gradient = gradientOf(deg);
  if (Math.abs(deg) > STEEP_DEG) {
    return t(Math.abs(deg) === 90 ? 'incl.vertical' : 'incl.steep', {
      deg: Math.abs(deg).toFixed(2),
      sense: t(deg > 0 ? 'incl.rising' : 'incl.falling')
    });
  }
  if (gradient.one_in === null) return t('incl.level_means');
  if (gradient.one_in > 9999) return t('incl.almost_level', { pct: Math.abs(gradient.pct).toFixed(4) });
  return t('incl.means', {
    one_in: oneIn(gradient.one_in),
    sense: t(deg > 0 ? 'incl.rising' : 'incl.falling'),
    deg: Math.abs(deg).toFixed(2),
    pct: Math.abs(gradient.pct).toFixed(2)
  });
}

/** @param {number} n @returns {string} */
export function oneIn(n) {
  return n >= 20 ? n.toFixed(0) : n >= 2 ? n.toFixed(1) : n.toFixed(2);
}

/** @param {any} value @returns {'up' | 'down' | 'flat' | 'beyond'} */
export function inclinationIcon(value) {
  if (value?.over_range) return 'beyond';
  if (!value || value.size === 0 || value.sense === 'level') return 'flat';
  return value.sense === 'rising' ? 'up' : 'down';
}
