/** The instrument checks of a job, and which are still to do. */
import { h } from '../../ui/elements.js';
import { linkRow, note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { instrumentsOf } from '../../survey/instruments/instruments.js';
import { checkFacts } from '../parts/describe.js';
import { todaysPart } from './todays_checks.js';
import { usualText, verdictText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../records/types.js').CheckRecord} CheckRecord */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  const types = (
    app.fields.kinds.check.fields.find((field) => field.name === 'check_type')?.choices ?? []
  ).filter((one) => one.value !== 'safety_sheet');
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const done = view.records('check').filter((one) => one.fields.check_type !== 'safety_sheet');
    const open = types.filter((type) => !done.some((one) => one.fields.check_type === type.value));
    page.head({ title: t('checks.title'), eyebrow: jobTitle(view), back: at });
    page.body(
      h('p', { class: 'soft' }, t('checks.why')),
      verdictNote(done),
      await todaysPart(app, view),
      done.length
        ? section(
            t('checks.done'),
            h('div', { class: 'rows' }, ...done.map((one) => checkRow(app, view, one, at)))
          )
        : null,
      open.length
        ? section(
            t('checks.to_do'),
            h(
              'div',
              { class: 'rows' },
              ...open.map((type) =>
                linkRow(`${at}/checks/new?type=${type.value}`, 'add', type.label, t('checks.not_yet'))
              )
            )
          )
        : null,
      done.length
        ? section(
            t('checks.again'),
            h(
              'div',
              { class: 'rows' },
              ...types
                .filter((one) => !open.includes(one))
                .map((type) => linkRow(`${at}/checks/new?type=${type.value}`, 'add', type.label, null))
            )
          )
        : null,
      open.length ? null : note('plain', t('checks.all'))
    );
  });
}

/** What the checks of the whole job come to together, and what is usual. @param {CheckRecord[]} done */
function verdictNote(done) {
  const verdict = verdictText(instrumentsOf(done, ''));
  return verdict
    ? note('plain', h('p', null, h('strong', null, verdict)), h('p', { class: 'field-help' }, usualText()))
    : null;
}

/** @param {App} app @param {JobView} view @param {CheckRecord} record @param {string} at */
function checkRow(app, view, record, at) {
  const { title, facts } = checkFacts(app, view, record);
  const verdict = verdictText(instrumentsOf([record], record.fields.run_id ?? ''));
  return linkRow(
    `${at}/checks/${record.id}`,
    'gauge',
    title,
    h(
      'span',
      { class: 'fact-lines' },
      ...facts.map((one) => h('span', null, one)),
      verdict ? h('strong', { class: 'verdict' }, verdict) : null
    )
  );
}
