/** One job: everything recorded in it, and what is still open. */
import { h } from '../../ui/elements.js';
import { button, linkRow, note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { WhenSeen } from '../../ui/when_seen.js';
import { apart, listed, metres } from '../../ui/format.js';
import { jobView, jobTitle } from '../../ui/record_guard.js';
import { goalMarks } from '../parts/condition_parts.js';
import { erasedNotes } from '../parts/erased_note.js';
import { safetyState } from './safety_state.js';
import { runSurvey } from '../parts/run_survey.js';
import { countLater, openSoFar } from './count_later.js';
import { photosCard } from '../parts/photos_here.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').Kind} Kind */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

const ROWS_AT_ONCE = 8;

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  const photos = photosCard(app, params.job);
  const later = new WhenSeen();
  const draw = async () => {
    const view = await jobView(app, params.job);
    await photos.show();
    const site = view.job.fields.site;
    page.head({ title: jobTitle(view), eyebrow: t('job.one'), back: '/' });
    page.bar(
      button(t('run.add'), { tone: 'main-act action', icon: 'add', href: `${at}/runs/new` }),
      button(t('node.add'), { tone: 'action', icon: 'node', href: `${at}/nodes/new` })
    );
    later.forget();
    page.body(
      view.job.removed ? note('notice', t('job.is_removed')) : null,
      site ? h('p', { class: 'soft' }, site) : null,
      ...erasedNotes(view),
      conflictNote(view, at),
      photos.element,
      sheets(app, view, at),
      runs(app, view, at, later),
      leaving(app, view, at),
      others(view, at)
    );
  };
  const stop = await live(app, params.job, draw);
  const stopCounting = countLater(app, params.job, draw);
  return () => {
    stop();
    stopCounting();
    later.forget();
    photos.stop();
  };
}

/** @param {HeldJob} view @param {string} at */
function conflictNote(view, at) {
  const n = view.conflicts().length;
  if (n === 0) return null;
  return h(
    'div',
    { class: 'rows' },
    linkRow(
      `${at}/conflicts`,
      'branch',
      t('conflicts.title'),
      t('conflicts.under'),
      h('span', { class: 'tag tag-notice' }, String(n))
    )
  );
}

/** @param {App} app @param {HeldJob} view @param {string} at */
function sheets(app, view, at) {
  const safety = safetyState(app, view);
  const checks = view.records('check').filter((one) => one.fields.check_type !== 'safety_sheet');
  const nodes = view.records('node');
  const answered = { n: safety.answered, m: safety.total };
  const safetyWords = safety.differing.length
    ? t('safety.answered_differ', { ...answered, differ: safety.differing.length })
    : t('safety.answered', answered);
  const filled = Object.values(view.job.fields).filter((value) => value !== null && value !== '').length;
  return h(
    'div',
    { class: 'rows' },
    linkRow(`${at}/edit`, 'sheet', t('job.sheet'), t('job.sheet_under', { n: filled })),
    linkRow(
      `${at}/safety`,
      'shield',
      t('safety.title'),
      safetyWords,
      safety.differing.length ? h('span', { class: 'tag tag-notice' }, t('safety.look')) : null
    ),
    linkRow(
      `${at}/checks`,
      'gauge',
      t('checks.title'),
      checks.length ? t('checks.count', { n: checks.length }) : t('checks.none')
    ),
    linkRow(
      `${at}/nodes`,
      'node',
      t('nodes.title'),
      nodes.length ? listed(nodes.map((n) => n.fields.node_ref ?? '?').slice(0, 4)) : t('nodes.none'),
      nodes.length ? String(nodes.length) : null
    )
  );
}

/** @param {App} app @param {HeldJob} view @param {string} at @param {WhenSeen} later */
function runs(app, view, at, later) {
  const list = view.records('run');
  if (list.length === 0) return section(t('runs.title'), h('p', { class: 'soft' }, t('runs.none')));
  const row = (/** @type {RecordOf<'run'>} */ run, /** @type {number} */ place) => {
    const whole = () => runRow(app, view, run, at);
    const waits = place >= ROWS_AT_ONCE && view.pages?.lacks(run.id);
    return waits ? later.add(bareRow(view, run, at), whole) : whole();
  };
  return section(t('runs.title'), h('div', { class: 'rows' }, ...list.map(row)));
}

/** Of a run that is not in view, and not open: its name and its ends.
 * @param {HeldJob} view @param {RecordOf<'run'>} run @param {string} at */
function bareRow(view, run, at) {
  const under = h('span', null, h('span', { class: 'row-under' }, routeOf(view, run)));
  return linkRow(`${at}/runs/${run.id}`, 'run', run.fields.run_ref ?? '?', under);
}

/** @param {HeldJob} view @param {RecordOf<'run'>} run */
function routeOf(view, run) {
  const name = (/** @type {string | null | undefined} */ id) =>
    view.record('node', id)?.fields.node_ref ?? t('node.unknown');
  return t('run.from_to', { from: name(run.fields.start_node_id), to: name(run.fields.finish_node_id) });
}

/** @param {App} app @param {HeldJob} view @param {RecordOf<'run'>} run @param {string} at */
function runRow(app, view, run, at) {
  const survey = runSurvey(app, view, run);
  const facts = [
    survey.surveyedM === null ? t('run.nothing_yet') : t('run.surveyed', { m: metres(survey.surveyedM) }),
    t('run.readings', { n: survey.readings.length }),
    t('run.observations', { n: survey.observations.length })
  ];
  const found = survey.findings.length;
  const { grading } = survey.figures;
  const marks = grading?.graded.length
    ? h(
        'span',
        null,
        h('span', { class: 'row-under' }, t('condition.so_far')),
        goalMarks(app, grading.run.goals)
      )
    : null;
  const under = h(
    'span',
    null,
    h('span', { class: 'row-under' }, routeOf(view, run)),
    h('span', { class: 'row-under' }, apart(facts)),
    marks
  );
  return linkRow(
    `${at}/runs/${run.id}`,
    'run',
    run.fields.run_ref ?? '?',
    under,
    found ? h('span', { class: 'tag tag-notice' }, t('run.to_look_at', { n: found })) : null
  );
}

/** @param {App} app @param {HeldJob} view @param {string} at */
function leaving(app, view, at) {
  const n = openSoFar(app, view)?.filter((one) => one.severity === 'site').length;
  return h(
    'div',
    { class: 'rows' },
    linkRow(
      `${at}/leave`,
      'end',
      t('leave.title'),
      n === undefined ? t('leave.counting') : t('leave.under'),
      n
        ? h(
            'span',
            { class: 'tag tag-notice' },
            h('span', { class: 'unseen' }, t('leave_severity.site')),
            ` ${n}`
          )
        : null
    )
  );
}

/** @param {HeldJob} view @param {string} at */
function others(view, at) {
  const photos = view.records('photo').length;
  const remarks = view.records('remark').length;
  /** @type {Kind[]} */
  const kinds = ['node', 'run', 'stretch', 'reading', 'observation', 'level_tie', 'check', 'photo', 'remark'];
  const removed = kinds.reduce((n, kind) => n + view.removed(kind).length, 0);
  return section(
    t('job.rest'),
    h(
      'div',
      { class: 'rows' },
      linkRow(
        `${at}/remarks`,
        'remark',
        t('remarks.title'),
        remarks ? t('remarks.count', { n: remarks }) : t('remarks.none')
      ),
      linkRow(
        `${at}/photos`,
        'picture',
        t('photos.title'),
        photos ? t('photos.count', { n: photos }) : t('photos.none')
      ),
      removed
        ? linkRow(`${at}/removed`, 'remove', t('removed.title'), t('removed.under', { n: removed }))
        : null,
      linkRow(`${at}/handover`, 'download', t('handover.title'), t('handover.under')),
      linkRow(`${at}/pack`, 'pack', t('job_pack.title'), t('job_pack.under'))
    )
  );
}
