/**
 * The condition of a run: classes by goal with their causes, what calls for action at once, what to do next.
 */
import { h } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { findCode } from '../../survey/coding/codes.js';
import { MIN_M } from '../../survey/wording/sight.js';
import { hazardNote, sightNote } from './sight_parts.js';
import {
  goalMarks,
  goalRows,
  nextBlock,
  stepList,
  toObservation,
  whatWhere
} from '../parts/condition_parts.js';
import { figuresOf } from '../parts/figures_of.js';
import {
  codeReason,
  fixedText,
  missingWords,
  objectWords,
  placeText as place
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { filled, keepUnits, listed } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../survey/grading/run_grading.js').Grading} Grading */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const figures = figuresOf(app, view, run);
    page.head({ title: t('condition.title'), eyebrow: run.fields.run_ref ?? '?', back: at, small: true });
    const { grading } = figures;
    if (!grading) {
      page.body(note('notice', codeReason(figures.refused.grading ?? figures.refused.capacity ?? '')));
      return;
    }
    page.body(
      hazardNote(app, figures, at),
      sightNote(app, figures),
      immediateNote(app, figures, grading, at),
      note(
        'plain',
        h('p', { class: 'indication' }, t('survey.grading.preliminary')),
        h(
          'p',
          { class: 'small soft' },
          t('condition.describes'),
          ' ',
          t('condition.scheme', { name: app.tables.grading_limits.name })
        )
      ),
      section(
        t('condition.run'),
        goalRows(app, figures, grading.run, at),
        ...unseenLines(figures, grading),
        ungradedLine(app, grading),
        missingLine(grading, at)
      ),
      section(
        t('condition.next'),
        h('p', { class: 'indication' }, t('survey.action.suggestion')),
        ...objects(app, figures, grading, at)
      ),
      section(t('condition.observations'), observationList(app, figures, grading, at)),
      section(t('condition.object'), stepList(objectWords(grading.run, app.tables.grading_limits)))
    );
  });
}

/** @param {App} app @param {Figures} figures @param {Grading} grading @param {string} at */
function immediateNote(app, figures, grading, at) {
  const scheme = app.tables.grading_limits;
  const lines = grading.graded.flatMap((one) =>
    one.immediate.map((found) => {
      const row = scheme.immediate[found.row];
      const words = found.sure ? row.words : t('condition.immediate_may', { words: row.words });
      return { one, words, source: row.source };
    })
  );
  if (lines.length === 0) return null;
  return h(
    'div',
    { 'data-figure': 'immediate' },
    note(
      'fault',
      h('strong', null, t('condition.immediate')),
      h(
        'ul',
        { class: 'stack-s graded' },
        ...lines.map(({ one, words }) =>
          h(
            'li',
            null,
            ...filled('value.labelled', {
              label: h('strong', null, words),
              value: toObservation(at, one, whatWhere(app, figures, one))
            })
          )
        )
      ),
      h('p', { class: 'small' }, t('condition.immediate_source', { source: lines[0].source.split(':')[0] }))
    )
  );
}

/**
 * Over how many metres nothing is known of the condition: not seen, and not surveyed.
 * @param {Figures} figures @param {Grading} grading
 */
function unseenLines({ extent }, { run }) {
  const lines = [];
  if (run.unseen_m && run.unseen_m > MIN_M && run.extent_m)
    lines.push(t('condition.unseen', { m: place(run.unseen_m), total: place(run.extent_m) }));
  if (extent?.remaining_m)
    lines.push(
      t('condition.not_surveyed', {
        m: fixedText(extent.remaining_m, 1),
        expected: place(Number(extent.expected_m))
      })
    );
  return lines.map((words) => h('p', { 'data-figure': 'unseen' }, keepUnits(words)));
}

/** @param {App} app @param {Grading} grading */
function ungradedLine(app, grading) {
  if (grading.ungraded.length === 0) return null;
  const names = grading.ungraded.map(
    (one) => findCode(app.tables.observation_codes.rows, one.code)?.title ?? one.code
  );
  return note('notice', t('condition.ungraded', { list: listed([...new Set(names)]) }));
}

/** @param {Grading} grading @param {string} at */
function missingLine(grading, at) {
  const missing = [...new Set(grading.graded.flatMap((one) => one.points.missing))].filter(
    (name) => name !== 'clock' && name !== 'at_joint'
  );
  if (missing.length === 0) return null;
  return h(
    'p',
    { class: 'field-help' },
    ...filled('condition.missing', {
      names: missingWords(missing),
      add: h('a', { href: `${at}/edit` }, t('condition.add_missing'))
    })
  );
}

/**
 * Each stretch with its classes, its suggestion and the surveyor's version.
 * @param {App} app
 * @param {Figures} figures
 * @param {Grading} grading
 * @param {string} at
 */
function objects(app, figures, grading, at) {
  return (figures.suggested ?? []).map((one, k) => {
    const stretch = one.kind === 'stretch' ? figures.stretches.find((s) => s.id === one.id) : null;
    const steps = stretch ? stretch.fields.next_steps : figures.run.next_steps;
    const summary = one.kind === 'stretch' ? grading.stretches[k] : null;
    return h(
      'section',
      { class: 'figure-card', 'data-figure': 'object' },
      h(
        'h3',
        null,
        keepUnits(
          stretch
            ? stretchTitle(figures, k, stretch.fields)
            : t(figures.stretches.length ? 'condition.outside' : 'condition.run')
        )
      ),
      summary ? goalMarks(app, summary.goals, summary) : null,
      nextBlock(app, figures, one, steps),
      button(t('condition.edit'), {
        icon: 'end',
        tone: 'wide',
        href: `${at}/next/${one.kind === 'stretch' ? one.id : 'run'}`,
        key: `next ${one.id}`
      })
    );
  });
}

/**
 * @param {Figures} figures @param {number} k
 * @param {import('../../records/types.js').StretchFields} fields
 */
export function stretchTitle(figures, k, fields) {
  const to = typeof fields.to_counter_m === 'number' ? place(figures.placeOf(fields.to_counter_m)) : '…';
  return t('condition.stretch', {
    n: k + 1,
    from: place(figures.placeOf(Number(fields.from_counter_m))),
    to
  });
}

/** @param {App} app @param {Figures} figures @param {Grading} grading @param {string} at */
function observationList(app, figures, grading, at) {
  if (grading.graded.length === 0) return h('p', { class: 'soft' }, t('condition.none'));
  return h(
    'div',
    null,
    h('p', { class: 'field-help' }, t('condition.goals')),
    ...grading.graded.map((one) =>
      h(
        'div',
        { class: 'graded' },
        toObservation(at, one, whatWhere(app, figures, one)),
        goalMarks(app, one.classes)
      )
    )
  );
}
