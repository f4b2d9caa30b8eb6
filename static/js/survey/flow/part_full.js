/** Part-full flow as shares of the full one, by Manning. Twin of webapp/survey/flow/part_full.py. */
import { numberBetween } from '../numbers/checks.js';
import { SurveyError } from '../errors.js';
import { findRoot } from '../numbers/root_finding.js';
import { flowSection, fullSection, perimeterGrowth } from '../section/shape.js';

/** @typedef {import('../section/bore.js').Bore} Bore */

const STEPS = 64;

/**
 * @param {Bore} bore
 * @param {number} depthRatio
 * @returns {{area_ratio: number, hydraulic_radius_ratio: number, velocity_ratio: number, discharge_ratio:
 *   number}}
 */
export function proportions(bore, depthRatio) {
  const ratio = numberBetween(depthRatio, 1e-6, 1, 'depth_ratio', 'depth_out_of_range');
  const full = fullSection(bore); // refuses a bore that cannot be before its height is used
  const part = flowSection(bore, bore.height_m * ratio);
  const area = part.area_m2 / full.area_m2;
  if (area <= 0) throw new SurveyError('depth_out_of_range', 'depth_ratio');
  const radius = part.hydraulic_radius_m / full.hydraulic_radius_m;
  const velocity = Math.pow(radius, 2 / 3);
  return {
    area_ratio: area,
    hydraulic_radius_ratio: radius,
    velocity_ratio: velocity,
    discharge_ratio: area * velocity
  };
}

/** @param {Bore} bore @returns {{depth_ratio: number, velocity_ratio: number}} */
export function fastest(bore) {
  const full = fullSection(bore);
  const bottom = bore.deposit_m ?? 0;
  const height = bore.height_m;
  const level = (/** @type {number} */ i) =>
    i === STEPS ? height : bottom + ((height - bottom) * i) / STEPS;
  const shrinking = (/** @type {number} */ depth) => {
    const { hydraulic_radius_m: radius, top_width_m: top } = flowSection(bore, depth, false);
    return radius * perimeterGrowth(bore, depth) - top;
  };
  let depth = height;
  if (!(flowSection(bore, height, false).top_width_m > 1e-6 * height && shrinking(height) < 0)) {
    for (let i = STEPS - 1; i > 0; i -= 1) {
      if (shrinking(level(i)) < 0) {
        depth = findRoot(shrinking, level(i), level(i + 1));
        break;
      }
    }
  }
  const radius = flowSection(bore, depth, false).hydraulic_radius_m / full.hydraulic_radius_m;
  return { depth_ratio: depth / height, velocity_ratio: Math.pow(radius, 2 / 3) };
}
