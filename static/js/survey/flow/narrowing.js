/**
 * How much of a clean bore's full-bore capacity is left beside what narrows it. Twin of
 * webapp/survey/flow/narrowing.py.
 */
import { areaLostToDeposit, depositDepthFromArea } from '../section/deposit.js';
import { deformedCircle } from '../section/deform.js';
import { SurveyError } from '../errors.js';
import { fullFlow } from './open_flow.js';

/** @typedef {import('../section/bore.js').Bore} Bore */
/**
 * @typedef {{low_pct: number | null, high_pct: number | null, of: string | null, findings: string[]}} Left
 */
/** @typedef {{kind: string, height_m: number, width_m: number | null}} LaidBore */

const FORMS = ['deposit_depth', 'deformation', 'smaller_bore', 'raised_invert', 'step', 'intrusion'];
const BY_AREA = ['smaller_bore', 'raised_invert'];
const SCALE_FREE = ['circular', 'egg', 'rectangular'];
const FLATTEST_GRADIENT = 1e-4;
const ASSUMED_GRADIENT = 0.01;
const MAX_DEFORMED_PCT = 50;

/**
 * @param {string} form @param {number} size @param {LaidBore | null} bore @param {string | null} kind
 * @param {number | null} gradient @param {number} roughnessMm @returns {Left}
 */
export function capacityLeft(form, size, bore, kind, gradient, roughnessMm) {
  if (!FORMS.includes(form)) throw new SurveyError('form_unknown', 'form');
  if (!(size >= 0)) throw new SurveyError('size_out_of_range', 'size');
  if (size === 0) return found(100, 100, 'capacity', []);
  if (bore === null) return byArea(form, size, kind);
  const clean = /** @type {Bore} */ ({
    kind: bore.kind,
    height_m: bore.height_m,
    width_m: bore.width_m,
    deposit_m: 0
  });
  if (form === 'deformation' && clean.kind !== 'circular')
    return found(null, null, null, ['only_round_pipes']);
  const usable = gradient !== null && gradient >= FLATTEST_GRADIENT && gradient <= 1;
  const findings = usable ? [] : ['gradient_assumed'];
  if (form === 'deformation' && size > MAX_DEFORMED_PCT) findings.push('beyond_half');
  if (form === 'step' && clean.kind !== 'circular') findings.push('step_as_deposit');
  if (form === 'intrusion') findings.push('width_of_it_not_known');
  let left;
  try {
    left = share(form, size, clean, usable ? Number(gradient) : ASSUMED_GRADIENT, {
      law: 'colebrook_white',
      roughness_m: roughnessMm / 1000
    });
  } catch (error) {
    if (error instanceof SurveyError) return found(null, null, null, [error.code]);
    throw error;
  }
  return found(
    findings.includes('beyond_half') ? 0 : left,
    form === 'intrusion' ? 100 : left,
    'capacity',
    findings
  );
}

/**
 * @param {number | null} low
 * @param {number | null} high
 * @param {string | null} of
 * @param {string[]} findings
 * @returns {Left}
 */
function found(low, high, of, findings) {
  return { low_pct: low, high_pct: high, of, findings };
}

/**
 * @param {string} form
 * @param {number} size
 * @param {Bore} clean
 * @param {number} gradient
 * @param {import('./resistance.js').Resistance} wall
 * @returns {number}
 */
function share(form, size, clean, gradient, wall) {
  const left = narrowed(form, size, clean);
  if (left === null) return 0;
  const before = fullFlow(clean, gradient, wall).discharge_m3_s;
  let after;
  try {
    after = fullFlow(left, gradient, wall).discharge_m3_s;
  } catch (error) {
    // too small a gap for the law: nothing to speak of runs through it
    if (error instanceof SurveyError) return 0;
    throw error;
  }
  return Math.min(100, (100 * after) / before);
}

/**
 * The bore with the narrowing in it; null where nothing is left.
 * @param {string} form
 * @param {number} size
 * @param {Bore} clean
 * @returns {Bore | null}
 */
function narrowed(form, size, clean) {
  if (form === 'deformation')
    return { deposit_m: 0, ...deformedCircle(clean.height_m, Math.min(size, MAX_DEFORMED_PCT)) };
  if (form === 'step') {
    const part = size / 1000 / clean.height_m;
    if (part >= 1) return null;
    if (clean.kind !== 'circular') return { ...clean, deposit_m: clean.height_m * part };
    return smaller(clean, 100 * (1 - (2 / Math.PI) * overlap(part)));
  }
  if (size >= 100) return null;
  if (form === 'deposit_depth' || form === 'intrusion')
    return { ...clean, deposit_m: (clean.height_m * size) / 100 };
  if (form === 'raised_invert')
    return { ...clean, deposit_m: depositDepthFromArea(clean, Math.min(size, 99.999999)) };
  return smaller(clean, size);
}

/** @param {number} part @returns {number} */
function overlap(part) {
  return Math.acos(part) - part * Math.sqrt(1 - part * part);
}

/** @param {Bore} clean @param {number} lostPct @returns {Bore | null} */
function smaller(clean, lostPct) {
  const scale = Math.sqrt(Math.max(0, 1 - lostPct / 100));
  if (clean.height_m * scale < 0.01) return null;
  const width = clean.width_m === null || clean.width_m === undefined ? null : clean.width_m * scale;
  return { kind: clean.kind, height_m: clean.height_m * scale, width_m: width, deposit_m: 0 };
}

/**
 * Without a size of the pipe.
 * @param {string} form
 * @param {number} size
 * @param {string | null} kind
 * @returns {Left}
 */
function byArea(form, size, kind) {
  if (BY_AREA.includes(form)) {
    const left = Math.max(0, 100 - size);
    return found(left, left, 'area', ['size_not_known', 'rests_on_area']);
  }
  const free = kind !== null && SCALE_FREE.includes(kind);
  if (form === 'step' || !free) return found(null, null, null, [free ? 'size_not_known' : 'shape_not_known']);
  if (form === 'deformation' && kind !== 'circular') return found(null, null, null, ['only_round_pipes']);
  const findings = ['size_not_known', 'rests_on_area'];
  if (form === 'deformation') {
    const squeezed = Math.min(size, MAX_DEFORMED_PCT) / 100;
    const left = 100 * (1 - squeezed * squeezed);
    const beyond = size > MAX_DEFORMED_PCT;
    return found(beyond ? 0 : left, left, 'area', beyond ? [...findings, 'beyond_half'] : findings);
  }
  const one = /** @type {Bore} */ ({
    kind,
    height_m: 1,
    width_m: kind === 'rectangular' ? 1 : null,
    deposit_m: size / 100
  });
  const left = size < 100 ? 100 - areaLostToDeposit(one).area_lost_pct : 0;
  if (form === 'intrusion') return found(left, 100, 'area', [...findings, 'width_of_it_not_known']);
  return found(left, left, 'area', findings);
}
