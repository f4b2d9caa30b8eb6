/**
 * The radius that holds a position 95 times in 100. Twin of webapp/survey/plan/position_accuracy.py, where
 * the sources stand.
 */
import { numberBetween } from '../numbers/checks.js';
import { spread } from '../numbers/finite.js';

/**
 * @typedef {Pick<import('../../records/types.js').Position, 'accuracy_m' | 'accuracy_pct' | 'source'>} Radius
 */

export const PHONE_PCT = 63;
export const OTHER_PCT = 95;

/**
 * How many times in 100 the stated radius holds the true place.
 * @param {Radius} position
 * @returns {number}
 */
export function statedPct(position) {
  const stated = position.accuracy_pct ?? null;
  if (stated !== null) return numberBetween(stated, 1, 99.9, 'accuracy_pct', 'share_out_of_range');
  return position.source === 'phone' ? PHONE_PCT : OTHER_PCT;
}

/** @param {Radius} position @returns {number | null} */
export function radius95M(position) {
  const stated = position.accuracy_m ?? null;
  if (stated === null) return null;
  const radius = spread(stated, 'accuracy_m');
  const pct = statedPct(position);
  if (pct === OTHER_PCT) return radius;
  return radius * Math.sqrt(Math.log(1 - OTHER_PCT / 100) / Math.log(1 - pct / 100));
}
