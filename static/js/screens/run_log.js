/** The log of a run: the figures so far, the levels, and everything recorded in order of distance. */
import { h } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { button, section } from '../ui/page.js';
import { live } from '../ui/live.js';
import { metres } from '../ui/format.js';
import { jobTitle, jobView, mustRecord } from '../ui/gone.js';
import { fallWords, levelSketch, levelWords, knownWords } from '../ui/level_sketch.js';
import { gradientWords, meaning } from '../forms/inclination.js';
import { makeWakeLock } from '../pwa/wake_lock.js';
import { valueWords } from './describe.js';
import { logRows } from './log_rows.js';
import { ofRun, runSurvey } from './run_survey.js';
import { openContinuous } from '../forms/continuous_pairs.js';
import { releasePictures } from '../ui/picture.js';
import { t } from '../text/en.js';

/** @typedef {ReturnType<typeof runSurvey>} Survey */

/** @param {import('../ui/page.js').Page} page @param {any} params @param {any} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  const wake = makeWakeLock();
  let more = false;
  void wake.request();
  const draw = async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const survey = runSurvey(app, view, run);
    page.head({ title: run.fields.run_ref ?? '?', eyebrow: jobTitle(view), back: `/jobs/${params.job}`, small: true });
    page.body(
      strip(app, view, run, at, wake.on), figures(survey), running(survey, at),
      sketch(view, run, survey), section(t('log.title'), await logRows(app, view, run, survey)),
    );
    page.bar(more ? morePanel(at, params.job, close) : keys(at, params.job, open));
  };
  const open = () => { more = true; void draw().then(() => /** @type {HTMLElement | null} */ (page.main.querySelector('.more-panel a'))?.focus()); };
  const close = () => { more = false; void draw(); };
  const stop = await live(app, params.job, draw);
  wake.events.addEventListener('changed', () => void draw());
  return () => {
    stop();
    releasePictures();
    void wake.release();
  };
}

/** @param {any} app @param {any} view @param {any} run @param {string} at @param {boolean} awake */
function strip(app, view, run, at, awake) {
  const name = (/** @type {string} */ id) => view.record('node', id)?.fields.node_ref ?? t('node.unknown');
  return h(
    'div', { class: 'run-strip strip-line' },
    h('div', null,
    h('p', { class: 'route' }, h('span', null, name(run.fields.start_node_id)), icon('on'), h('span', { class: 'unseen' }, t('run.to')), h('span', null, name(run.fields.finish_node_id))),
    h('p', { class: 'soft small' }, valueWords(app, view, 'run', 'direction', run.fields.direction), awake ? ` · ${t('log.awake')}` : '')),
    button(t('run.edit'), { tone: 'quiet', href: `${at}/edit` }),
  );
}

/** @param {Survey} survey */
function figures(survey) {
  const last = survey.points.at(-1);
  const first = survey.stations.length > 1 ? fallWords(survey.stations) : t('log.no_levels');
  return h(
    'dl', { class: 'dials' },
    gauge(t('log.last_reading'), last ? metres(last.chainage_m) : '—', t(survey.tools.scaleChecked ? 'log.chainage_scaled' : 'log.chainage')),
    gauge(t('log.here'), last ? meaning(last.value).split(',')[0] : '—', last ? meaning(last.value).split(',').slice(1).join(',').trim() : ''),
    gauge(t('log.since_start'), first.replace(/ \(.*\)$/, ''), /\((.*)\)$/.exec(first)?.[1] ?? ''),
  );
}

/** @param {string} label @param {string} value @param {string} how */
function gauge(label, value, how) {
  return h('div', { class: 'gauge' }, h('dt', null, label), h('dd', null, value.replace(/(\d) m\b/g, '$1\u00a0m'), how ? h('span', { class: 'how' }, how) : null));
}

/** @param {Survey} survey @param {string} at */
function running(survey, at) {
  const open = openContinuous(survey.observations);
  if (open.length === 0) return null;
  return h(
    'div', { class: 'stack-s' },
    ...open.map((one) => h(
      'a', { class: 'draft-note link-plain', href: `${at}/observations/new?finish=${one.id}` },
      h('span', null, t('log.running', { code: one.fields.code, n: one.fields.continuous.number, m: metres(one.fields.counter_m) })),
      h('span', { class: 'tag' }, t('log.finish_it')))),
  );
}

/** @param {any} view @param {any} run @param {Survey} survey */
function sketch(view, run, survey) {
  const ties = ofRun(view, run.id, 'level_tie').map((one) => survey.placeOf(one.fields.counter_m));
  const marks = { observations: survey.observations.map((one) => survey.placeOf(one.fields.counter_m)).filter(Number.isFinite), ties };
  const drawing = levelSketch(survey.stations, marks);
  if (!drawing) return null;
  const overall = overallGradient(survey);
  return section(
    t('sketch.title'), drawing,
    h('p', { class: 'field-help' }, overall, ' ', t('sketch.how', { scale: survey.tools.scale.toFixed(4), limit: survey.limitDeg.toFixed(1), limit_known: t(survey.limitAssumed ? 'known.assumed' : 'known.measured') })),
    h('details', null, h('summary', null, t('sketch.table')), h('div', { class: 'table-scroll', tabindex: '0', role: 'region', 'aria-label': t('sketch.table') }, levelTable(survey))),
  );
}

/** @param {Survey} survey @returns {string} */
function overallGradient(survey) {
  const [first, last] = [survey.stations[0], survey.stations.at(-1)];
  if (!last || last.known === 'bounded' || last.chainage_m - first.chainage_m < 0.01) return '';
  const sine = (last.low_m - first.low_m) / (last.chainage_m - first.chainage_m);
  return t('sketch.overall', { words: gradientWords(Math.asin(Math.max(-1, Math.min(1, sine))) * 180 / Math.PI), known: knownWords(last.known) });
}

/** @param {Survey} survey */
function levelTable(survey) {
  return h(
    'table', { class: 'levels' },
    h('thead', null, h('tr', null, ...['sketch.col_place', 'sketch.col_level', 'sketch.col_known'].map((key) => h('th', { scope: 'col' }, t(/** @type {any} */ (key)))))),
    h('tbody', null, ...survey.stations.map((one) => h('tr', null, h('td', null, metres(one.chainage_m)), h('td', null, levelWords(one)), h('td', null, knownWords(one.known))))),
  );
}

/** @param {string} at @param {string} jobId @param {() => void} open */
function keys(at, jobId, open) {
  const runId = at.split('/').pop();
  return [
    button(t('log.reading'), { tone: 'main-act action stacked', icon: 'reading', href: `${at}/readings/new` }),
    button(t('log.observation'), { tone: 'main-act action stacked', icon: 'observation', href: `${at}/observations/new` }),
    button(t('log.photo'), { tone: 'main-act action stacked', icon: 'photo', href: `/jobs/${jobId}/photos/new?run=${runId}` }),
    button(t('log.more'), { tone: 'action stacked narrow', icon: 'more', onclick: open }),
  ].reduce((all, one) => { all.append(one); return all; }, h('div', { class: 'log-keys' }));
}

/** @param {string} at @param {string} jobId @param {() => void} close */
function morePanel(at, jobId, close) {
  return h(
    'div', { class: 'more-panel' },
    button(t('stretch.one'), { tone: 'action', icon: 'stretch', href: `${at}/stretches/new` }),
    button(t('tie.one'), { tone: 'action', icon: 'tie', href: `${at}/ties/new` }),
    button(t('remark.one'), { tone: 'action', icon: 'remark', href: `${at}/remarks/new` }),
    button(t('run.end'), { tone: 'action', icon: 'end', href: `${at}/edit?part=end` }),
    button(t('log.less'), { tone: 'wide quiet full', icon: 'cross', onclick: close }),
  );
}
