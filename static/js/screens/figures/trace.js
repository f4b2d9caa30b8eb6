/** Where a run goes in plan, and which way to walk to its far end. */
import { h } from '../../ui/elements.js';
import { button, linkRow, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { planSketch } from '../../ui/plan_sketch.js';
import { followPosition } from '../../pwa/position.js';
import { localOfGeodetic } from '../../survey/plan/geodesy.js';
import { radius95M } from '../../survey/plan/position_accuracy.js';
import { fetchDeclination } from '../job/declination.js';
import { figuresOf } from '../parts/figures_of.js';
import { traceFacts, tiedWords } from './trace_facts.js';
import { walkCard } from './walk_card.js';
import { codeReason, walkText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../pwa/position.js').Fix} Fix */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {{fix: Fix | null, status: string, stop: (() => void) | null, server: string}} State */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  /** @type {State} */
  const state = { fix: null, status: '', stop: null, server: '' };
  const draw = async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const figures = figuresOf(app, view, run);
    const names = {
      start: nameOf(view, run.fields.start_node_id),
      end: nameOf(view, run.fields.finish_node_id)
    };
    page.head({ title: t('trace.title'), eyebrow: run.fields.run_ref ?? '?', back: at, small: true });
    page.body(
      walkCard(figures, names, state.fix),
      drawing(figures, names, state.fix),
      follow(figures),
      missing(figures, params.job, at),
      askServer(view, figures),
      tiedWords(figures),
      traceFacts(figures, names)
    );
  };
  const stop = await live(app, params.job, draw);

  /** @param {Figures} figures */
  function follow(figures) {
    if (!figures.trace?.places) return null;
    const act = () => {
      if (state.stop) end();
      else begin();
      void draw();
    };
    return h(
      'div',
      { class: 'stack-s' },
      button(t(state.stop ? 'trace.stop' : 'trace.use'), {
        icon: 'place',
        tone: 'wide action',
        key: 'follow',
        onclick: act
      }),
      h('p', { class: 'field-help', role: 'status' }, state.status)
    );
  }

  function begin() {
    state.status = t('trace.asking');
    state.stop = followPosition(
      (fix) => {
        state.fix = fix;
        state.status = t('trace.following');
        void draw();
      },
      (error) => {
        state.status = errorWords(error);
        void draw();
      }
    );
  }

  function end() {
    state.stop?.();
    Object.assign(state, { stop: null, fix: null, status: '' });
  }

  /** @param {HeldJob} view @param {Figures} figures */
  function askServer(view, figures) {
    const start = view.record('node', figures.run.start_node_id)?.fields.position;
    if (!figures.trace?.missing.includes('declination') || !start)
      return state.server ? h('p', { class: 'field-help', role: 'status' }, state.server) : null;
    const act = async () => {
      state.server = t('trace.asking_server');
      await draw();
      state.server = await fetchDeclination(
        app,
        params.job,
        start,
        view.job.fields.surveyed_on ?? app.newIsoStamp().slice(0, 10)
      );
      await draw();
    };
    return h(
      'div',
      { class: 'stack-s' },
      button(t('trace.ask_server'), { icon: 'send', tone: 'wide', key: 'ask', onclick: act }),
      h('p', { class: 'field-help', role: 'status' }, state.server)
    );
  }

  return () => {
    end();
    stop();
  };
}

/** @param {JobView} view @param {string | null | undefined} id */
function nameOf(view, id) {
  return view.record('node', id)?.fields.node_ref ?? t('node.unknown');
}

/** @param {Figures} figures @param {{start: string, end: string}} names @param {Fix | null} fix */
function drawing(figures, names, fix) {
  const {
    trace,
    end,
    placed,
    run,
    records: { nodes }
  } = figures;
  const why = figures.refused.trace ? codeReason(figures.refused.trace) : t('trace.none');
  if (!trace?.trace || !end) return h('p', { class: 'soft' }, why);
  const start = nodes.findLast((one) => one.id === run.start_node_id)?.fields.position;
  const phone =
    fix && trace.places && start
      ? {
          ...localOfGeodetic(start.lat_deg, start.lon_deg, fix.lat_deg, fix.lon_deg),
          radius_m: Number(radius95M(fix))
        }
      : null;
  const far = nodes.findLast((one) => one.id === run.finish_node_id)?.fields.position;
  const tie =
    trace.tied && far && start
      ? localOfGeodetic(start.lat_deg, start.lon_deg, far.lat_deg, far.lon_deg)
      : null;
  const reached = run.end_reason === 'node_reached';
  return planSketch({
    points: trace.trace.points,
    start: names.start,
    end: reached ? names.end : t('trace.stopped'),
    observations: placed,
    phone,
    tie,
    north: t(`trace.arrow_${trace.north ?? 'true'}`),
    alt: t('trace.alt', { words: walkText(end.distance_m, end.bearing_deg, end.radius_m) })
  });
}

/**
 * What is missing, each with one tap to the place where it is mended.
 * @param {Figures} figures
 * @param {string} jobId
 * @param {string} at
 */
function missing(figures, jobId, at) {
  const list = figures.trace?.missing ?? [];
  if (list.length === 0) return null;
  const node = figures.run.start_node_id;
  /** @type {Object<string, string>} */
  const where = {
    start_position: node ? `/jobs/${jobId}/nodes/${node}` : `${at}/edit`,
    start_bearing: `${at}/edit`,
    length: `${at}/readings/new`,
    declination: `/jobs/${jobId}/edit`,
    convergence: `/jobs/${jobId}/edit`
  };
  return section(
    t('trace.missing'),
    h(
      'div',
      { class: 'rows' },
      ...list.map((code) =>
        linkRow(where[code], 'alert', t(`trace.missing_${code}`), t(`trace.mend_${code}`))
      )
    )
  );
}
