/** The safety sheet: questions before the survey. Reminders, not a permit. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { insist } from '../../forms/failure.js';
import { radioControl } from '../../forms/fields/fields_plain.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { safetyState } from './safety_state.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').Answer} Answer */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  /** @type {Map<string, ReturnType<typeof questionCard>>} */
  const cards = new Map();
  const summary = h('p', { role: 'status', class: 'soft' });
  const entryBox = h('div', null);
  const table = app.tables.safety_sheet;
  const view = await jobView(app, params.job);
  page.head({ title: t('safety.title'), eyebrow: jobTitle(view), back: `/jobs/${params.job}` });
  for (const row of safetyState(app, view).rows)
    cards.set(
      row.question.id,
      questionCard(row.question, (answer) => void answered(row.question.id, answer))
    );
  page.body(
    note('plain', h('p', null, table.note)),
    summary,
    entryBox,
    h('div', { class: 'stack' }, ...[...cards.values()].map((card) => card.element)),
    section(t('safety.cautions'), ...table.cautions.map(caution))
  );

  /** @param {string} questionId @param {Answer | null} answer */
  async function answered(questionId, answer) {
    const now = await app.store.job(params.job);
    const record = safetyState(app, now).rows.find((row) => row.question.id === questionId)?.record ?? null;
    /** @type {import('../../records/types.js').CheckFields} */
    const fields = record ? { answer } : { check_type: 'safety_sheet', question_id: questionId, answer };
    await insist(app, { what: t('what.answer'), jobId: params.job }, () =>
      app.store.save(params.job, 'check', record?.id ?? null, fields)
    );
  }

  return live(app, params.job, async () => {
    const state = safetyState(app, await jobView(app, params.job));
    for (const row of state.rows) cards.get(row.question.id)?.show(row);
    const values = { n: state.answered, m: state.total };
    summary.textContent = state.differing.length
      ? t('safety.summary_differ', { ...values, differ: state.differing.length })
      : t('safety.summary', values);
    entryBox.replaceChildren(...(state.entry ? [entryWords()] : []));
  });
}

function entryWords() {
  return note('fault', h('strong', null, t('safety.entry_title')), h('p', null, t('safety.entry_words')));
}

/**
 * @param {import('./safety_state.js').SafetyQuestion} question
 * @param {(answer: Answer | null) => void} answered
 */
function questionCard(question, answered) {
  /** @type {import('../../ui/types.js').Field} */
  const field = {
    name: question.id,
    label: question.question,
    type: 'choice',
    required: false,
    choices: [
      { value: 'yes', label: t('form.yes') },
      { value: 'no', label: t('form.no') },
      { value: 'not_applicable', label: t('form.not_apply') }
    ]
  };
  const control = radioControl(
    field,
    () => answered(/** @type {Answer} */ (control.raw()) || null),
    'answers',
    false
  );
  const differs = h('p', { class: 'field-fault', hidden: true }, icon('alert'), t('safety.differs'));
  const source = question.source
    ? h(
        'p',
        { class: 'field-help' },
        t('safety.source', { source: question.source, certainty: question.certainty })
      )
    : null;
  control.element.classList.add('question');
  control.element.querySelector('.choices')?.before(h('p', { class: 'field-help' }, question.help));
  control.element.append(
    differs,
    ...(source ? [h('details', { class: 'small' }, h('summary', null, t('safety.where_from')), source)] : [])
  );
  return {
    element: control.element,
    /** @param {import('./safety_state.js').SafetyAnswer} row */
    show(row) {
      if (control.raw() !== (row.answer ?? '')) control.setRaw(row.answer);
      control.element.classList.toggle('differs', row.differs);
      differs.hidden = !row.differs;
    }
  };
}

/** @param {import('../../records/tables.js').SafetyCaution} one */
function caution(one) {
  return h(
    'div',
    { class: 'card stack-s' },
    h('h3', null, one.topic),
    h('p', null, one.text),
    h('p', { class: 'field-help' }, t('safety.law', { law: one.law, certainty: one.certainty }))
  );
}
