/** What was recorded, in words. Twin of webapp/survey/wording/recorded.py. */
import { SurveyError } from '../errors.js';
import { radius95M } from '../plan/position_accuracy.js';
import { message, numberText } from './messages.js';
import { fixedText, unitText } from './quantities.js';

/** @typedef {import('./messages.js').Words} Words */
/** @typedef {import('../../records/types.js').Inclination} Inclination */
/** @typedef {import('../../records/types.js').Clock} Clock */
/** @typedef {import('../../records/types.js').Continuous} Continuous */
/** @typedef {import('../../records/types.js').CounterReset} CounterReset */
/** @typedef {import('../../records/types.js').Position} Position */
/** @typedef {import('../../records/types.js').Bearing} Bearing */
/** @typedef {{type?: string, unit?: string, choices?: Array<{value: string, label: string}>}} Described */

const DECIMALS = 9; // a nanometre, a tenth of a millimetre on the ground in degrees
const SENSES = ['rising', 'falling', 'level'];
const NORTHS = ['true', 'magnetic', 'grid'];
const READ_IN = ['deg', 'pct', 'permille', 'one_in'];

/** A number without exponent, with as few decimals as it needs. @param {Words} words @param {number} value @returns {string} */
export function shortText(words, value) {
  if (!Number.isFinite(value)) throw new SurveyError('number_not_finite', 'value');
  const short = value.toFixed(DECIMALS).replace(/\.?0+$/, '');
  return numberText(words, short === '-0' ? '0' : short);
}

/** @param {Words} words @param {number} value @param {string} unit @returns {string} */
export function sized(words, value, unit) {
  const size = shortText(words, value);
  return unit ? message(words, 'survey.sized', { size, unit: unitText(words, unit) }) : size;
}

/** @param {Words} words @param {string | null} sense @returns {string} */
export function senseWord(words, sense) {
  return SENSES.includes(sense ?? '') ? message(words, `survey.sense.${sense}`) : '';
}

/** @param {Words} words @param {string} north @returns {string} */
export function northWord(words, north) {
  return message(words, `survey.north.${NORTHS.includes(north) ? north : 'unknown'}`);
}

/** @param {Words} words @param {Inclination} value @returns {string} */
export function inclinationText(words, value) {
  const sense = senseWord(words, value.sense ?? null);
  if (value.over_range) return message(words, 'survey.inclination.beyond', { sense });
  const key = `survey.inclination.${READ_IN.includes(value.unit ?? '') ? value.unit : 'none'}`;
  const size = message(words, key, { size: shortText(words, value.size ?? 0) });
  const kind = value.sense === 'level' ? 'level' : 'sense';
  return sense ? message(words, `survey.inclination.${kind}`, { size, sense }) : size;
}

/** @param {Words} words @param {Clock} value @returns {string} */
export function clockText(words, value) {
  const { hour_from: start, hour_to: end = null } = value;
  const first = shortText(words, start);
  if (end === null) return message(words, 'survey.clock.at', { hour: first });
  if (end === start) return message(words, 'survey.clock.round');
  return message(words, 'survey.clock.from_to', { first, last: shortText(words, end) });
}

/** @param {Words} words @param {Continuous} value @returns {string} */
export function continuousText(words, value) {
  return message(words, `survey.continuous.${value.role}`, { number: shortText(words, value.number) });
}

/** @param {Words} words @param {CounterReset} value @returns {string} */
export function resetText(words, value) {
  const [had, to] = [shortText(words, value.had_shown_m), shortText(words, value.set_to_m)];
  return message(words, 'survey.value.reset', { shown_m: had, set_m: to });
}

/** @param {Words} words @param {Position} value @returns {string} */
export function positionText(words, value) {
  const radius = radius95M(value);
  const place = { lat: shortText(words, value.lat_deg), lon: shortText(words, value.lon_deg) };
  if (radius === null) return message(words, 'survey.value.position_bare', place);
  return message(words, 'survey.value.position', { ...place, m: fixedText(words, radius, 1) });
}

/** @param {Words} words @param {Bearing} value @returns {string} */
export function headingText(words, value) {
  const spread = value.sd_deg ?? null;
  const read = { deg: shortText(words, value.bearing_deg), north: northWord(words, value.north) };
  if (spread === null) return message(words, 'survey.value.bearing_bare', read);
  return message(words, 'survey.value.bearing', { ...read, sd_deg: shortText(words, spread) });
}

/** @typedef {(words: Words, value: never) => string} Say   of a value of the type that it is for */
/** @type {Object<string, Say>} */
const COMPOSITES = {
  inclination: inclinationText,
  clock: clockText,
  continuous: continuousText,
  counter_reset: resetText,
  position: positionText,
  bearing: headingText
};

/** The value of a field in words, with its unit. @param {Words} words @param {Described} field @param {unknown} value @returns {string} */
export function valueText(words, field, value) {
  if (value === null || value === undefined || value === '') return message(words, 'survey.value.none');
  if (typeof value === 'boolean') return message(words, `survey.value.${value ? 'yes' : 'no'}`);
  if (typeof value === 'number') return sized(words, value, field.unit ?? '');
  const type = field.type ?? '';
  if (typeof value === 'object' && Object.hasOwn(COMPOSITES, type))
    return wholeText(words, COMPOSITES[type], value);
  return field.choices?.find((one) => one.value === value)?.label ?? String(value);
}

/** @param {Words} words @param {Say} say @param {object} value @returns {string} */
function wholeText(words, say, value) {
  try {
    return say(words, /** @type {never} */ (value));
  } catch {
    throw new SurveyError('value_not_whole');
  }
}
