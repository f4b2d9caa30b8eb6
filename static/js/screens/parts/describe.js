/** Records in words, for lists, conflicts and the outbox. */
import { asRead } from '../../forms/fields/inclination.js';
import { QUANTITIES, takenOver } from '../../forms/carried.js';
import { quantityFor } from '../../survey/coding/code_quantities.js';
import { compactCode, findCode } from '../../survey/coding/codes.js';
import { radius95M } from '../../survey/plan/position_accuracy.js';
import { apart, asRecorded, metres, phrases } from '../../ui/format.js';
import { chosenWords, fixedText, unitText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { northWord } from '../../forms/fields/field_place.js';

/** @typedef {import('../../ui/types.js').Field} Field */

/** @typedef {import('../../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').Kind} Kind */
/** @typedef {import('../../records/types.js').PhotoRecord} PhotoRecord */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */

/** @type {Kind[]} kinds of which a photo may be */
const OWNERS = ['observation', 'reading', 'node', 'check', 'remark', 'stretch', 'level_tie', 'run'];

/**
 * @template {Kind} K
 * @overload
 * @param {App} app
 * @param {K} kind
 * @param {keyof import('../../records/types.js').FieldsByKind[K] & string} name
 * @returns {Field}
 */
/**
 * @overload
 * @param {App} app
 * @param {string} kind of a record that may be of a later version
 * @param {string} name
 * @returns {Field | undefined}
 */
/** @param {App} app @param {string} kind @param {string} name @returns {Field | undefined} */
export function fieldOf(app, kind, name) {
  return app.fields.kinds[kind]?.fields.find((field) => field.name === name);
}

/**
 * The fields of an observation that no form and no line of words places by hand.
 * @param {App} app
 * @returns {Field[]}
 */
export function furtherFields(app) {
  return app.fields.kinds.observation.fields.filter((field) => field.further);
}

/**
 * A field's value in words, with its unit.
 * @param {App} app
 * @param {JobView | null} view
 * @param {string} kind
 * @param {string} name
 * @param {any} value
 * @returns {string}
 */
export function valueWords(app, view, kind, name, value) {
  if (value === null || value === undefined || value === '') return t('value.empty');
  if (name === 'removed') return t(value ? 'value.removed' : 'value.kept');
  const field = fieldOf(app, kind, name);
  if (typeof value === 'boolean') return t(value ? 'form.yes' : 'form.no');
  if (field?.type === 'choice')
    return field.choices?.find((one) => one.value === value)?.label ?? String(value);
  if (field?.type === 'ref') return refWords(view, field.to ?? '', value);
  if (typeof value === 'object')
    return field?.type === 'next_steps'
      ? phrases(chosenWords(value, app.tables.actions))
      : wholeWords(field?.type ?? '', value);
  return asRecorded(value, field?.unit);
}

/** @param {JobView | null} view @param {string} to @param {string} id */
function refWords(view, to, id) {
  const fields = /** @type {AnyFields | undefined} */ (view?.record(/** @type {Kind} */ (to), id)?.fields);
  return fields?.node_ref ?? fields?.run_ref ?? t('value.other_record');
}

/** @type {Object<string, import('../../text/words.js').MessageKey>} */
const ROLES = { start: 'continuous.start', change: 'continuous.change', finish: 'continuous.finish' };

/** @param {string} type @param {any} value @returns {string} */
function wholeWords(type, value) {
  switch (type) {
    case 'inclination':
      return asRead(value);
    case 'clock':
      return clockWords(value);
    case 'counter_reset':
      return t('reset.words', { had: value.had_shown_m, set: value.set_to_m });
    case 'continuous':
      return Object.hasOwn(ROLES, value.role)
        ? t(ROLES[value.role], { n: value.number })
        : String(value.role);
    case 'position': {
      const radius = radius95M(value);
      const place = { lat: value.lat_deg, lon: value.lon_deg };
      return radius === null
        ? t('value.position_bare', place)
        : t('value.position', { ...place, m: fixedText(radius, 1) });
    }
    case 'bearing':
      return t('value.bearing', { deg: value.bearing_deg, north: northWord(value.north) });
    default:
      return JSON.stringify(value);
  }
}

/** @param {any} clock @returns {string} */
export function clockWords(clock) {
  if (!clock) return '';
  return clock.hour_to
    ? t('clock.from_to', { a: clock.hour_from, b: clock.hour_to })
    : t('clock.at', { a: clock.hour_from });
}

/** What a field is called; of an observation, what its code calls it.
 * @param {App} app @param {string} kind @param {string} name @param {any} [record] @returns {string} */
export function labelOf(app, kind, name, record) {
  if (name === 'removed') return t('value.removal');
  const row =
    kind === 'observation' ? findCode(app.tables.observation_codes.rows, record?.fields.code ?? '') : null;
  if (row && name === 'characterisation_1') return t('obs.kind');
  if (row && name === 'characterisation_2') return t('obs.kind_2');
  const own = /** @type {any} */ (row)?.[name]; // a quantity, called by what it measures
  return own?.label ?? fieldOf(app, kind, name)?.label ?? name;
}

/**
 * A value in the words of the record that it belongs to.
 * @param {App} app
 * @param {JobView} view
 * @param {any} record
 * @param {string} name
 * @param {any} value
 * @returns {string}
 */
export function valueInRecord(app, view, record, name, value) {
  const row =
    record.kind === 'observation'
      ? findCode(app.tables.observation_codes.rows, record.fields.code ?? '')
      : null;
  const own = /** @type {any} */ (row)?.[name];
  if (value === null || value === undefined || !own) return valueWords(app, view, record.kind, name, value);
  if (Array.isArray(own)) return codeNamed(value, own.find((one) => one.value === value)?.label);
  return asRecorded(value, unitText(own.unit));
}

/** @param {App} app @param {JobView} view @param {any} record @returns {{title: string, facts: string[]}} */
export function checkFacts(app, view, record) {
  const { check_type: type, ...fields } = record.fields;
  const title = valueWords(app, view, 'check', 'check_type', type);
  const facts = Object.entries(fields)
    .filter(
      ([name, value]) =>
        !['question_id', 'first_made_for', 'first_made_at'].includes(name) && value !== null && value !== ''
    )
    .map(([name, value]) =>
      t('value.labelled', {
        label: labelOf(app, 'check', name),
        value: valueWords(app, view, 'check', name, value)
      })
    );
  if (fields.first_made_for) facts.push(t('checks.from', { job: fields.first_made_for }));
  return { title, facts };
}

/** @param {string} code @param {string} [label] @returns {string} */
function codeNamed(code, label) {
  return label ? t('value.code', { code, label }) : code;
}

/**
 * A quantity of an observation, with its unit.
 * @param {import('../../ui/types.js').CodeRow | null} row of its code
 * @param {ObservationFields} f
 * @param {import('../../survey/coding/code_quantities.js').SizeField} name
 */
export function sizeWords(row, f, name) {
  return asRecorded(f[name], unitText((row && quantityFor(row, name, f.characterisation_1)?.unit) ?? ''));
}

/**
 * @param {App} app
 * @param {ObservationRecord} observation
 * @returns {{title: string, under: string, row: import('../../ui/types.js').CodeRow | null}}
 */
export function observationWords(app, observation) {
  const f = /** @type {ObservationFields & FieldsByName} */ (observation.fields);
  const rows = app.tables.observation_codes.rows;
  const row = findCode(rows, f.code ?? '');
  const characters = /** @type {const} */ (['characterisation_1', 'characterisation_2'])
    .map((name) => row?.[name].find((one) => one.value === f[name])?.label)
    .filter((label) => label !== undefined && label !== '');
  const over = takenOver(f.as_before);
  const quantities = QUANTITIES.filter((name) => typeof f[name] === 'number').map((name) => {
    const value = sizeWords(row, f, name);
    return over.includes(name) ? t('value.how', { value, how: t('carried.words') }) : value;
  });
  const under = [
    ...characters,
    ...quantities,
    clockWords(f.clock),
    f.turns_to ? t('obs.turns', { way: valueWords(app, null, 'observation', 'turns_to', f.turns_to) }) : '',
    f.at_joint ? t('obs.at_joint') : '',
    f.continuous ? wholeWords('continuous', f.continuous) : '',
    ...furtherFields(app)
      .filter(({ name }) => (f[name] ?? '') !== '')
      .map(({ name, label }) =>
        t('value.labelled', { label, value: valueWords(app, null, 'observation', name, f[name]) })
      ),
    f.remark ?? ''
  ];
  return { title: codeNamed(compactCode(f), row?.title ?? t('obs.unknown_code')), under: apart(under), row };
}

/** The record that a photo belongs to. @param {JobView} view @param {PhotoRecord} photo */
export function ownerOf(view, photo) {
  if (!photo.fields.belongs_to) return null;
  for (const kind of OWNERS) {
    const found = view.record(kind, photo.fields.belongs_to);
    if (found) return found;
  }
  return null;
}

/**
 * What a record is called in a list.
 * @param {App} app
 * @param {JobView} view
 * @param {string} kind
 * @param {any} record
 * @returns {string}
 */
export function recordName(app, view, kind, record) {
  const f = record?.fields ?? {};
  const label = app.fields.kinds[kind]?.label ?? kind;
  const run = f.run_id ? view?.record('run', f.run_id)?.fields.run_ref : '';
  const own = {
    job: f.title,
    node: f.node_ref,
    run: f.run_ref,
    observation: f.code,
    remark: f.text?.slice(0, 40),
    photo: f.caption,
    check: f.check_type ? valueWords(app, view, 'check', 'check_type', f.check_type) : ''
  }[kind];
  const from =
    kind === 'stretch' && typeof f.from_counter_m === 'number'
      ? t('record.from', { name: label, m: metres(f.from_counter_m) })
      : '';
  const name = from || (own ? t('record.named', { label, own }) : label);
  if (typeof f.counter_m !== 'number') return run ? t('record.in_run', { name, run }) : name;
  const m = metres(f.counter_m);
  return run ? t('record.at_in_run', { name, m, run }) : t('record.at', { name, m });
}

/**
 * Where a record is edited.
 * @param {string} jobId
 * @param {string} kind
 * @param {any} record
 * @returns {string}
 */
export function recordPath(jobId, kind, record) {
  const at = `/jobs/${jobId}`;
  const run = `${at}/runs/${record?.fields?.run_id}`;
  switch (kind) {
    case 'job':
      return `${at}/edit`;
    case 'node':
      return `${at}/nodes/${record.id}`;
    case 'run':
      return `${at}/runs/${record.id}/edit`;
    case 'check':
      return record.fields.check_type === 'safety_sheet' ? `${at}/safety` : `${at}/checks/${record.id}`;
    case 'photo':
      return `${at}/photos/${record.id}`;
    case 'reading':
      return `${run}/readings/${record.id}`;
    case 'observation':
      return `${run}/observations/${record.id}`;
    case 'stretch':
      return `${run}/stretches/${record.id}`;
    case 'level_tie':
      return `${run}/ties/${record.id}`;
    default:
      return record?.fields?.run_id ? `${run}/remarks/${record.id}` : `${at}/remarks/${record.id}`;
  }
}
