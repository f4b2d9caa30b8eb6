/**
 * What lies in the invert: area lost to it, and its depth from the area lost. Twin of
 * webapp/survey/section/deposit.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { findRoot } from '../numbers/root_finding.js';
import { areaAndWidth, areasAndWidths, fullSection } from './shape.js';

/** @typedef {import('./bore.js').Bore} Bore */

/** @param {Bore} bore @returns {{deposit_area_m2: number, area_lost_pct: number}} */
export function areaLostToDeposit(bore) {
  fullSection(bore); // checks the deposit too
  const clean = { ...bore, deposit_m: 0 };
  const lost = areaAndWidth(clean, bore.deposit_m ?? 0)[0];
  return { deposit_area_m2: lost, area_lost_pct: (100 * lost) / fullSection(clean).area_m2 };
}

/** @param {Bore} bore @param {number} areaLostPct @returns {number} */
export function depositDepthFromArea(bore, areaLostPct) {
  const share = numberBetween(areaLostPct, 0, 99.999999, 'area_lost_pct', 'share_out_of_range') / 100;
  const clean = { ...bore, deposit_m: 0 };
  const wanted = share * fullSection(clean).area_m2;
  if (wanted === 0) return 0;
  const at = areasAndWidths(clean);
  return findRoot((z) => at(z)[0] - wanted, 0, bore.height_m);
}
