/**
 * What runs along the pipe at the head of the log: since where, how much, and one tap to finish or to change
 * it.
 */
import { h } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { apart, listed, metres } from '../../ui/format.js';
import { continuousItems } from '../../survey/coding/continuous.js';
import { findCode } from '../../survey/coding/codes.js';
import { sizeWords } from './describe.js';
import { pictogram } from '../../ui/pictograms.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../survey/coding/continuous.js').ContinuousItem} Item */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */

/**
 * @param {App} app
 * @param {ObservationRecord[]} observations of the run
 * @param {string} at address of the run
 */
export function runningPart(app, observations, at) {
  const open = continuousItems(observations, null).items.filter((one) => one.open);
  if (open.length === 0) return null;
  const rows = app.tables.observation_codes.rows;
  return section(
    t('running.title'),
    h('div', { class: 'stack-s' }, ...open.map((item) => card(rows, item, at)))
  );
}

/** @param {import('../../ui/types.js').CodeRow[]} rows @param {Item} item @param {string} at */
function card(rows, item, at) {
  const row = findCode(rows, item.code);
  const to = (/** @type {string} */ role) => `${at}/observations/new?${role}=${item.start_id}`;
  const name = `${item.code} ${item.number}`;
  return h(
    'div',
    { class: 'running', role: 'group', 'aria-label': name },
    h(
      'div',
      { class: 'running-words' },
      pictogram(row?.pictogram),
      h(
        'div',
        null,
        h('p', { class: 'row-title' }, row?.title ?? t('obs.unknown_code')),
        h(
          'p',
          { class: 'row-under' },
          apart([
            t('running.since', { code: item.code, n: item.number, m: metres(item.from_counter_m) }),
            quantityWords(rows, item)
          ])
        )
      )
    ),
    h(
      'div',
      { class: 'keys' },
      button(t('running.finish'), { href: to('finish'), key: `finish-${item.start_id}` }),
      button(t('running.change'), { href: to('change'), key: `change-${item.start_id}` })
    )
  );
}

/**
 * The quantities that hold now, and since where.
 * @param {import('../../records/tables.js').ObservationCode[]} rows
 * @param {Item} item
 * @returns {string}
 */
export function quantityWords(rows, item) {
  const part = item.parts[item.parts.length - 1];
  const row = findCode(rows, item.code);
  const values = /** @type {const} */ (['quantification_1', 'quantification_2'])
    .filter((name) => typeof part.fields[name] === 'number')
    .map((name) => sizeWords(row, part.fields, name));
  if (values.length === 0) return t('running.quantity_none');
  return item.parts.length > 1
    ? t('running.quantity', { value: listed(values), m: metres(part.from_counter_m) })
    : listed(values);
}
