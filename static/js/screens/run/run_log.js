/** The log of a run: the figures so far, the levels, and everything recorded in order of distance. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { button, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { makeWakeLock } from '../../pwa/wake_lock.js';
import { conditionRow } from '../parts/condition_parts.js';
import { valueWords } from '../parts/describe.js';
import { hazardNote, sightNote } from '../figures/sight_parts.js';
import { gauges, levelsSection } from '../parts/log_figures.js';
import { logRows } from './log_rows.js';
import { runSurvey } from '../parts/run_survey.js';
import { runningPart } from '../parts/running.js';
import { countLater } from '../job/count_later.js';
import { leaveChip } from '../job/leave_chip.js';
import { nextPart } from './next_part.js';
import { releasePictures } from '../../ui/picture.js';
import { t } from '../../text/words.js';
import { apart } from '../../ui/format.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/** @typedef {ReturnType<typeof runSurvey>} Survey */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  const wake = makeWakeLock();
  let more = false;
  void wake.request();
  const draw = async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const survey = runSurvey(app, view, run);
    page.head({
      title: run.fields.run_ref ?? '?',
      eyebrow: jobTitle(view),
      back: `/jobs/${params.job}`,
      small: true
    });
    page.body(
      strip(app, view, run, at, wake.on),
      hazardNote(app, survey.figures, at),
      gauges(survey.figures),
      runningPart(app, survey.observations, at),
      leaveChip(app, view, params.run),
      nextPart(app, view, run, survey.figures),
      levelsSection(survey.figures, at, params.job),
      sightNote(app, survey.figures),
      conditionRow(app, survey.figures, at),
      section(t('log.title'), await logRows(app, view, run, survey))
    );
    page.bar(more ? morePanel(at, close) : keys(at, params.job, open));
  };
  const open = () => {
    more = true;
    void draw().then(() =>
      /** @type {HTMLElement | null} */ (page.main.querySelector('.more-panel a'))?.focus()
    );
  };
  const close = () => {
    more = false;
    void draw();
  };
  const stop = await live(app, params.job, draw);
  const stopCounting = countLater(app, params.job, draw);
  wake.events.addEventListener('changed', () => void draw());
  return () => {
    stop();
    stopCounting();
    releasePictures();
    void wake.release();
  };
}

/**
 * @param {App} app
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {string} at
 * @param {boolean} awake
 */
function strip(app, view, run, at, awake) {
  const name = (/** @type {string | null | undefined} */ id) =>
    view.record('node', id)?.fields.node_ref ?? t('node.unknown');
  return h(
    'div',
    { class: 'run-strip strip-line' },
    h(
      'div',
      null,
      h(
        'p',
        { class: 'route' },
        h('span', null, name(run.fields.start_node_id)),
        icon('on'),
        h('span', { class: 'unseen' }, t('run.to')),
        h('span', null, name(run.fields.finish_node_id))
      ),
      h(
        'p',
        { class: 'soft small' },
        apart([valueWords(app, view, 'run', 'direction', run.fields.direction), awake && t('log.awake')])
      )
    ),
    button(t('run.edit'), { tone: 'quiet', href: `${at}/edit` })
  );
}

/** @param {string} at @param {string} jobId @param {() => void} open */
function keys(at, jobId, open) {
  const runId = at.split('/').pop();
  return [
    button(t('log.reading'), {
      tone: 'main-act action stacked',
      icon: 'reading',
      href: `${at}/readings/new`
    }),
    button(t('log.observation'), {
      tone: 'main-act action stacked',
      icon: 'observation',
      href: `${at}/observations/new`
    }),
    button(t('log.photo'), {
      tone: 'main-act action stacked',
      icon: 'photo',
      href: `/jobs/${jobId}/photos/new?run=${runId}`
    }),
    button(t('log.more'), { tone: 'action stacked narrow', icon: 'more', onclick: open })
  ].reduce(
    (all, one) => {
      all.append(one);
      return all;
    },
    h('div', { class: 'log-keys' })
  );
}

/** @param {string} at @param {() => void} close */
function morePanel(at, close) {
  return h(
    'div',
    { class: 'more-panel' },
    button(t('change.one'), { tone: 'action', icon: 'branch', href: `${at}/change` }),
    button(t('stretch.one'), { tone: 'action', icon: 'stretch', href: `${at}/stretches/new` }),
    button(t('tie.one'), { tone: 'action', icon: 'tie', href: `${at}/ties/new` }),
    button(t('remark.one'), { tone: 'action', icon: 'remark', href: `${at}/remarks/new` }),
    button(t('csv.open'), { tone: 'action', icon: 'sheet', href: `${at}/readings/file` }),
    button(t('run.end'), { tone: 'action', icon: 'end', href: `${at}/edit?part=end` }),
    button(t('log.less'), { tone: 'wide quiet full', icon: 'cross', onclick: close })
  );
}
