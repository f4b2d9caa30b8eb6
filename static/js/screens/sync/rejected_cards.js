/** What the server set aside, a card each. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { entryId } from '../../records/fold.js';
import { labelOf, recordName, recordPath, valueInRecord } from '../parts/describe.js';
import { t } from '../../text/words.js';
import { plainFields, wordsOr } from './entry_words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../ui/types.js').Entry} Entry */
/** @typedef {import('../../ui/types.js').Kind} Kind */
/** @typedef {import('../../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../../store/outbox.js').OutboxEntry} OutboxEntry */

/** @param {App} app @param {OutboxEntry[]} aside @returns {Promise<HTMLElement[]>} why each was set aside, and what can be done */
export async function rejectedCards(app, aside) {
  const out = [];
  for (const one of aside) out.push(card(app, await app.store.job(one.entry.job_id), one));
  return out;
}

/** @param {App} app @param {JobView} view @param {OutboxEntry} aside */
function card(app, view, { entry, reasons, code }) {
  const known = view.record(/** @type {Kind} */ (entry.kind), entry.record_id);
  const record = known ?? { id: entry.record_id, fields: plainFields(entry) };
  const sentences = Object.values(reasons ?? {}).flat();
  return h(
    'div',
    { class: 'card' },
    h(
      'h3',
      null,
      wordsOr(() => recordName(app, view, entry.kind, record), entry.kind)
    ),
    h(
      'ul',
      { class: 'plain-list' },
      ...(sentences.length ? sentences : [code ?? '']).map((one) =>
        h('li', null, h('strong', null, String(one)))
      )
    ),
    valueList(app, view, entry, record),
    h(
      'div',
      { class: 'keys' },
      canBeMended(app, entry, record)
        ? button(t('outbox.mend'), { tone: 'main-act', onclick: () => void mend(app, view, entry, known) })
        : null,
      button(t('outbox.dealt'), {
        onclick: () => void app.store.dismissAside(entry.job_id, entryId(entry))
      })
    )
  );
}

/** @param {App} app @param {JobView} view @param {Entry} entry @param {{fields: AnyFields}} record */
function valueList(app, view, entry, record) {
  const fields = plainFields(entry);
  // What a quantity measures is said by the code, which the entry itself may not have.
  const whole = { kind: entry.kind, fields: { ...record.fields, ...fields } };
  return h(
    'dl',
    { class: 'facts' },
    ...Object.entries(fields)
      .filter(([name]) => name !== 'run_id')
      .flatMap(([name, value]) => [
        h(
          'dt',
          null,
          wordsOr(() => labelOf(app, entry.kind, name, whole), name)
        ),
        h(
          'dd',
          null,
          wordsOr(() => valueInRecord(app, view, whole, name, value), value)
        )
      ])
  );
}

/**
 * Whether there is a form for it.
 * @param {App} app
 * @param {Entry} entry
 * @param {{fields: AnyFields}} record
 */
function canBeMended(app, entry, record) {
  const known =
    typeof entry.kind === 'string' && entry.kind in app.fields.kinds && typeof entry.record_id === 'string';
  const inRun = ['reading', 'observation', 'stretch', 'level_tie'].includes(entry.kind);
  return (
    known &&
    Object.keys(plainFields(entry)).length > 0 &&
    (!inRun || typeof record.fields.run_id === 'string')
  );
}

/**
 * Opens the form with the values that were set aside; saving makes a new entry.
 * @param {App} app
 * @param {JobView} view
 * @param {Entry} entry
 * @param {SurveyRecord | undefined} known
 */
async function mend(app, view, entry, known) {
  /** @type {{id: string, fields: AnyFields}} */
  const record = known ?? { id: 'new', fields: entry.fields };
  let path = recordPath(view.jobId, entry.kind, record);
  if (!known && entry.kind === 'check') path += `?type=${entry.fields.check_type ?? ''}`;
  await app.store.saveDraft(path, {
    mend: entry.fields,
    record_id: entry.record_id,
    kept_at: entry.recorded_at,
    aside: entryId(entry)
  });
  await app.go(path);
}
