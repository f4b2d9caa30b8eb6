/**
 * A bore with its wall, and one flow in it: heads and friction slopes from critical depth up to the crown.
 * Twin of webapp/survey/flow/waterway.py.
 */
import { numberBetween } from '../numbers/checks.js';
import { TURBULENT_FROM } from './colebrook.js';
import { SurveyError } from '../errors.js';
import { criticalFlow } from './open_flow.js';
import { GRAVITY_M_S2, VISCOSITY_M2_S, frictionSlope } from './resistance.js';
import { flowSection, fullSection } from '../section/shape.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/** @typedef {import('./resistance.js').Resistance} Resistance */
/**
 * @typedef {{bore: Bore, resistance: Resistance, share: number, capped: boolean, depths_m: number[],
 *   areas_m2: number[], radii_m: number[]}} Waterway
 */
/** @typedef {{depth_m: number, head_m: number, slope: number, control: boolean}} FlowState */

const LEVELS = 48; // of the table of a section, closer together at invert and crown
const NEAR = [0.05, 0.25, 0.55]; // of the way from the critical depth to the next level of the table
const STEEPEST = 1000; // m/m: stands for a depth at which nothing flows
const NO_LAW = ['roughness_out_of_range', 'radius_out_of_range', 'velocity_out_of_range'];

/**
 * @param {Bore} bore
 * @param {Resistance} resistance
 * @param {number} [share]
 * @param {boolean} [capped]
 * @returns {Waterway}
 */
export function waterway(bore, resistance, share = 1, capped = true) {
  numberBetween(share, 1e-6, 1, 'share', 'share_out_of_range');
  const full = fullSection(bore);
  const bottom = bore.deposit_m ?? 0;
  const clear = bore.height_m - bottom;
  /** @type {number[]} */
  const depths = [];
  for (let k = 1; k < LEVELS; k += 1)
    depths.push(bottom + (clear * (1 - Math.cos((Math.PI * k) / LEVELS))) / 2);
  const sections = [...depths.map((depth) => flowSection(bore, depth, false)), full];
  return {
    bore,
    resistance,
    share,
    capped,
    depths_m: [...depths, bore.height_m],
    areas_m2: sections.map((one) => one.area_m2),
    radii_m: sections.map((one) => one.hydraulic_radius_m)
  };
}

/**
 * Friction slope, below turbulence with the factor at its lower end.
 * @param {Resistance} resistance
 * @param {number} radiusM
 * @param {number} velocityMS
 * @returns {[number, string[]]}
 */
export function friction(resistance, radiusM, velocityMS) {
  if (resistance.law === 'colebrook_white') {
    const viscosity = resistance.viscosity_m2_s === undefined ? VISCOSITY_M2_S : resistance.viscosity_m2_s;
    const slowest = ((TURBULENT_FROM * viscosity) / (4 * radiusM)) * (1 + 1e-9);
    if (velocityMS < slowest) {
      const share = velocityMS / slowest;
      return [frictionSlope(resistance, radiusM, slowest) * share * share, ['flow_not_turbulent']];
    }
  }
  return [frictionSlope(resistance, radiusM, velocityMS), []];
}

/**
 * How many of ascending numbers are not greater.
 * @param {number[]} list
 * @param {number} wanted
 * @returns {number}
 */
function notGreater(list, wanted) {
  let [low, high] = [0, list.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (wanted < list[middle]) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** One flow in one waterway. */
export class Running {
  /** @param {Waterway} way @param {number} discharge */
  constructor(way, discharge) {
    this.way = way;
    this.discharge = discharge;
    const gravity = way.resistance.gravity_m_s2 === undefined ? GRAVITY_M_S2 : way.resistance.gravity_m_s2;
    const critical = criticalFlow(way.bore, discharge, gravity).depth_m;
    const first = Math.min(notGreater(way.depths_m, critical), way.depths_m.length);
    const none = first === way.depths_m.length;
    const from = none ? way.depths_m.length - 1 : first;
    this.depths = way.depths_m.slice(from);
    this.areas = way.areas_m2.slice(from);
    this.radii = way.radii_m.slice(from);
    if (!none) {
      const beyond = this.depths[0] - critical;
      const nearer = [critical, ...NEAR.map((share) => critical + share * beyond)];
      const sections = nearer.map((depth) => flowSection(way.bore, depth, false));
      this.depths = [...nearer, ...this.depths];
      this.areas = [...sections.map((one) => one.area_m2), ...this.areas];
      this.radii = [...sections.map((one) => one.hydraulic_radius_m), ...this.radii];
    }
    this.heads = this.depths.map(
      (depth, k) => depth + ((discharge / this.areas[k]) * (discharge / this.areas[k])) / (2 * gravity)
    );
    this.last = this.depths.length - 1;
    const whole = way.depths_m.length - 1;
    this.full = friction(
      way.resistance,
      way.radii_m[whole],
      discharge / (way.share * way.areas_m2[whole])
    )[0];
    /** @type {Array<number | null>} */
    this.slopes = this.depths.map(() => null);
    this.slopes[this.last] = this.full;
  }

  /** Friction slope at a level. @param {number} k @returns {number} */
  slope(k) {
    let found = this.slopes[k];
    if (found !== null) return found;
    try {
      found = friction(
        this.way.resistance,
        this.radii[k],
        this.discharge / (this.way.share * this.areas[k])
      )[0];
    } catch (error) {
      if (!(error instanceof SurveyError && NO_LAW.includes(error.code))) throw error;
      found = STEEPEST;
    }
    if (this.way.capped && found < this.full) found = this.full;
    this.slopes[k] = found;
    return found;
  }

  /** The least head at which the flow passes. @returns {FlowState} */
  critical() {
    return { depth_m: this.depths[0], head_m: this.heads[0], slope: this.slope(0), control: true };
  }

  /** Between two levels. @param {number} k @param {number} share @returns {FlowState} */
  between(k, share) {
    const [a, b] = [this.slope(k), this.slope(k + 1)];
    return {
      depth_m: this.depths[k] + share * (this.depths[k + 1] - this.depths[k]),
      head_m: this.heads[k] + share * (this.heads[k + 1] - this.heads[k]),
      slope: a + share * (b - a),
      control: false
    };
  }

  /** With the grade line so far above the crown. @param {number} above @returns {FlowState} */
  pressed(above) {
    return {
      depth_m: this.depths[this.last] + above,
      head_m: this.heads[this.last] + above,
      slope: this.full,
      control: false
    };
  }

  /** At a depth, not below the critical one. @param {number} depth @returns {FlowState} */
  atDepth(depth) {
    if (depth <= this.depths[0]) return this.critical();
    if (depth >= this.depths[this.last]) return this.pressed(depth - this.depths[this.last]);
    const k = notGreater(this.depths, depth) - 1;
    return this.between(k, (depth - this.depths[k]) / (this.depths[k + 1] - this.depths[k]));
  }

  /** Where the head less the friction over a step is the one wanted, the slope below it known.
   * @param {number} target @param {number} step @param {number} below @returns {FlowState} */
  atHead(target, step, below) {
    const lost = (/** @type {number} */ k) => {
      const slope = this.slope(k);
      return step > 0 ? step * ((2 * below * slope) / (below + slope)) : 0;
    };
    if (this.heads[0] - lost(0) >= target) return this.critical();
    const top = this.heads[this.last] - lost(this.last);
    if (target >= top) return this.pressed(target - top);
    let [low, high] = [0, this.last];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (this.heads[middle] - lost(middle) <= target) low = middle;
      else high = middle;
    }
    const [nearer, beyond] = [this.heads[low] - lost(low), this.heads[high] - lost(high)];
    return this.between(low, beyond > nearer ? (target - nearer) / (beyond - nearer) : 0);
  }
}
