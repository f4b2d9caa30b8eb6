/** Records in words, for lists, conflicts and the outbox. */
import { QUANTITIES, takenOver } from '../../forms/carried.js';
import { quantityFor } from '../../survey/coding/code_quantities.js';
import { compactCode, findCode } from '../../survey/coding/codes.js';
import { apart, day, metres, phrases, when } from '../../ui/format.js';
import { chosenWords, sized, valueText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */

/** @typedef {import('../../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').NextSteps} NextSteps */
/** @typedef {import('../../records/types.js').Kind} Kind */
/** @typedef {{label?: string, unit: string}} Asked */
/** @typedef {import('../../records/tables.js').CodeLetter} CodeLetter */
/**
 * What a code takes, by the name of a field: choices with their letters, or a quantity.
 * @typedef {Object<string, Asked | (CodeLetter[] & {label?: undefined})>}
 *   ByName
 */
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
 * @param {unknown} value
 * @returns {string}
 */
export function valueWords(app, view, kind, name, value) {
  if (name === 'removed') return t(value ? 'value.removed' : 'value.kept');
  const field = fieldOf(app, kind, name);
  if (value && field?.type === 'ref') return refWords(view, field.to ?? '', String(value));
  if (value && field?.type === 'date') return day(String(value));
  if (value && field?.type === 'time') return when(String(value));
  if (value && field?.type === 'next_steps')
    return phrases(chosenWords(/** @type {NextSteps} */ (value), app.tables.actions));
  return inWords(field, value);
}

/** @param {JobView | null} view @param {string} to @param {string} id */
function refWords(view, to, id) {
  const fields = /** @type {AnyFields | undefined} */ (view?.record(/** @type {Kind} */ (to), id)?.fields);
  return fields?.node_ref ?? fields?.run_ref ?? t('value.other_record');
}

/** @param {Field | undefined} field @param {unknown} value @returns {string} */
function inWords(field, value) {
  try {
    return valueText(field ?? {}, value);
  } catch {
    return JSON.stringify(value); // half a composite of an earlier version: shown as it stands
  }
}

/** What a field is called; of an observation, what its code calls it.
 * @param {App} app @param {string} kind @param {string} name
 * @param {{fields: AnyFields} | null} [record] @returns {string} */
export function labelOf(app, kind, name, record) {
  if (name === 'removed') return t('value.removal');
  const row =
    kind === 'observation' ? findCode(app.tables.observation_codes.rows, record?.fields.code ?? '') : null;
  if (row && name === 'characterisation_1') return t('obs.kind');
  if (row && name === 'characterisation_2') return t('obs.kind_2');
  const own = /** @type {ByName | null} */ (row)?.[name]; // a quantity, called by what it measures
  return own?.label ?? fieldOf(app, kind, name)?.label ?? name;
}

/**
 * A value in the words of the record that it belongs to.
 * @param {App} app
 * @param {JobView} view
 * @param {{kind: string, fields: AnyFields}} record
 * @param {string} name
 * @param {unknown} value
 * @returns {string}
 */
export function valueInRecord(app, view, record, name, value) {
  const row =
    record.kind === 'observation'
      ? findCode(app.tables.observation_codes.rows, record.fields.code ?? '')
      : null;
  const own = /** @type {ByName | null} */ (row)?.[name];
  if (value === null || value === undefined || !own) return valueWords(app, view, record.kind, name, value);
  if (Array.isArray(own)) return codeNamed(String(value), own.find((one) => one.value === value)?.label);
  return sized(/** @type {number} */ (value), own.unit);
}

// What has a place of its own, or is no reading.
const NOT_OF_A_CHECK = ['check_type', 'question_id', 'first_made_for', 'first_made_at'];

/**
 * @param {App} app @param {JobView} view @param {import('../../records/types.js').CheckRecord} record
 * @returns {{title: string, facts: string[]}}
 */
export function checkFacts(app, view, record) {
  /** @type {import('../../records/types.js').CheckFields & FieldsByName} */
  const { check_type: type, ...fields } = record.fields;
  const title = valueWords(app, view, 'check', 'check_type', type);
  const facts = app.fields.kinds.check.fields
    .filter(({ name }) => !NOT_OF_A_CHECK.includes(name) && (fields[name] ?? '') !== '')
    .map(({ name, label }) =>
      t('value.labelled', { label, value: valueWords(app, view, 'check', name, fields[name]) })
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
  return valueText({ unit: (row && quantityFor(row, name, f.characterisation_1)?.unit) ?? '' }, f[name]);
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
    f.clock ? inWords(fieldOf(app, 'observation', 'clock'), f.clock) : '',
    f.turns_to ? t('obs.turns', { way: valueWords(app, null, 'observation', 'turns_to', f.turns_to) }) : '',
    f.at_joint ? t('obs.at_joint') : '',
    f.continuous ? inWords(fieldOf(app, 'observation', 'continuous'), f.continuous) : '',
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
 * @param {{fields: AnyFields} | undefined} record
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
 * @param {{id: string, fields: AnyFields}} record
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
