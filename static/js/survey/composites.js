/** Values of several parts that a record holds: whole, or not used. Twin of webapp/survey/composites.py. */

/** @typedef {import('../records/types.js').Disputed} Disputed */
/**
 * What a part may be: a number from the first to the second (a third: whole ones only), one of these words,
 * what is true or false, a text.
 * @typedef {number[] | string[] | true | ''} Rule
 */
/** @typedef {Object<string, Rule>} Rules */

/** @type {Object<string, number>} */
const STEEPEST = { deg: 90, pct: 1e6, permille: 1e7, one_in: 1e6 };
/** @type {Rules[]} */
const INCLINATION = [
  { sense: ['rising', 'falling', 'level'] },
  { size: [0, 1e7], unit: Object.keys(STEEPEST), over_range: true, typed: '' }
];
const HOUR = [1, 12, 1];
const COUNTER_M = [0, 5000];
/** @type {Object<string, Rules[]>} what must be there, what may be there */
const FORMS = {
  start_bearing: [{ bearing_deg: [0, 360], north: ['magnetic', 'true', 'grid'] }, { sd_deg: [0, 180] }],
  position: [
    { lat_deg: [-90, 90], lon_deg: [-180, 180] },
    { accuracy_m: [0, 1e5], accuracy_pct: [1, 99.9], source: ['phone', 'receiver', 'map', 'typed'] }
  ],
  inclination: INCLINATION,
  reading_forward: INCLINATION,
  reading_reversed: INCLINATION,
  counter_reset: [{ had_shown_m: COUNTER_M, set_to_m: COUNTER_M }],
  clock: [{ hour_from: HOUR }, { hour_to: HOUR }],
  continuous: [{ role: ['start', 'change', 'finish'], number: [1, 999, 1] }],
  next_steps: [{}, { no_action: true, why: '' }]
};
/** @type {Map<string, {required: string[], rules: Rules}>} the same, made ready: a job has thousands of records */
const READY = new Map(
  Object.entries(FORMS).map(([name, [required, others]]) => {
    const rules = Object.assign(Object.create(null), required, others);
    return [name, { required: Object.keys(required), rules }];
  })
);
const NAMES = [...READY.keys()];
const URGENCIES = ['at_once', 'short_term', 'medium_term', 'long_term', 'no_term'];

/** @param {string} name of the field @param {unknown} value @returns {boolean} */
export function isWhole(name, value) {
  if (value === undefined || value === null) return true;
  const form = READY.get(name);
  if (!form) return true;
  if (typeof value !== 'object' || Array.isArray(value)) return false;
  const parts = /** @type {Object<string, unknown>} */ (value);
  const steps = name === 'next_steps';
  if (form.required.some((part) => (parts[part] ?? null) === null)) return false;
  const fit = Object.keys(parts).every((part) => {
    const rule = form.rules[part] ?? (steps ? URGENCIES : null);
    return rule === null || fits(rule, parts[part]);
  });
  return fit && (steps ? oneOrTheOther(parts) : !form.required.includes('sense') || hangsTogether(parts));
}

/**
 * @template {{fields: object, conflicts?: Disputed, unusable?: string[]}} T
 * @param {T} record
 * @returns {T}
 */
export function usable(record) {
  const fields = /** @type {Object<string, unknown>} */ (record.fields);
  const lost = NAMES.filter((name) => !isWhole(name, fields[name]));
  const found = lost.length
    ? {
        ...record,
        fields: { ...fields, ...Object.fromEntries(lost.map((name) => [name, null])) },
        unusable: lost
      }
    : record;
  const rows = Object.entries(found.conflicts ?? {});
  if (rows.every(([name, values]) => values.every(([, value]) => isWhole(name, value)))) return found;
  const conflicts = rows.map(([name, values]) => [
    name,
    values.map(([id, value]) => [id, isWhole(name, value) ? value : null])
  ]);
  return { ...found, conflicts: Object.fromEntries(conflicts) };
}

/** @param {Rule} rule @param {unknown} value @returns {boolean} */
function fits(rule, value) {
  if (!Array.isArray(rule)) return typeof value === typeof rule || (value === null && rule === '');
  if (typeof rule[0] === 'string') return rule.includes(/** @type {never} */ (value));
  const [low, high, whole] = /** @type {number[]} */ (rule);
  return (
    value === null || (typeof value === 'number' && low <= value && value <= high && !(whole && value % 1))
  );
}

/** An inclination: beyond the range, one way or the other, or a size in a unit.
 * @param {Object<string, unknown>} parts @returns {boolean} */
function hangsTogether({ size, unit, sense, over_range: beyond }) {
  const none = (size ?? null) === null;
  if (beyond) return sense !== 'level' && none;
  return (
    !none && Boolean(unit) && Number(size) <= STEEPEST[String(unit)] && (unit !== 'one_in' || size !== 0)
  );
}

/** No action, or at least one. @param {Object<string, unknown>} parts @returns {boolean} */
function oneOrTheOther(parts) {
  return !parts.no_action === Object.keys(parts).some((part) => part !== 'no_action' && part !== 'why');
}
