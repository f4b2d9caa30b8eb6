/**
 * A length surveyed in pieces: how its runs join, what was seen of it, its levels, capacity and condition as
 * one.
 */
import { h } from '../../ui/elements.js';
import { linkRow, note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { goalRows } from '../parts/condition_parts.js';
import { valueWords } from '../parts/describe.js';
import { wholeFall } from '../parts/figure_words.js';
import { indication, sketchOf, withSpread } from '../parts/log_figures.js';
import { lengthFiguresOf, refsOf, runsOfLength, wholeLengthOf } from '../parts/figures_of.js';
import { sameSection } from './same_part.js';
import { defectCount, hazardNote, whyWords } from './sight_parts.js';
import { litres } from '../parts/stretch_facts.js';
import {
  codeReason,
  joinLines,
  knownWord,
  partLine,
  placeText,
  seenLine,
  unseenWhy
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, metres, sentences } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../survey/lengths/length_of_runs.js').WholeLength} WholeLength */

/** @typedef {import('../../records/types.js').RunRecord} RunRecord */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const back = `/jobs/${params.job}/runs/${params.run}`;
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const runs = runsOfLength(view, run.id);
    page.head({ title: t('length.title'), eyebrow: refsOf(runs.length ? runs : [run]), back, small: true });
    if (runs.length === 0) {
      page.body(h('p', null, t('length.none')));
      return;
    }
    const whole = wholeLengthOf(app, view, runs);
    const at = (/** @type {string} */ id) =>
      `/jobs/${params.job}/runs/${view.record('observation', id)?.fields.run_id ?? run.id}`;
    const figures = lengthFiguresOf(app, view, runs, whole);
    page.body(
      figures ? hazardNote(app, figures, at) : null,
      joinNote(whole),
      runsSection(app, view, runs, whole),
      ...(figures ? parts(app, figures, whole, at) : []),
      sameSection(app, view, params.job, runs, whole)
    );
  });
}

/**
 * @param {App} app
 * @param {Figures} figures
 * @param {WholeLength} whole
 * @param {import('../parts/condition_parts.js').At} at
 */
function parts(app, figures, whole, at) {
  const { grading } = figures;
  return [
    sightSection(app, figures, whole),
    levelsSection(figures),
    capacitySection(figures, whole),
    grading ? section(t('length.condition'), goalRows(app, figures, grading.run, at)) : null
  ];
}

/** @param {WholeLength} whole */
function joinNote(whole) {
  const lines = joinLines(whole.join, whole.perhaps.length);
  const open = whole.join.how === 'unknown' || whole.join.between.length > 0 || whole.perhaps.length > 0;
  return h(
    'div',
    { 'data-figure': 'join' },
    note(
      open ? 'notice' : 'plain',
      h('ul', { class: 'stack-s graded' }, ...lines.map((words) => h('li', null, keepUnits(words))))
    )
  );
}

/** @param {App} app @param {JobView} view @param {RunRecord[]} runs @param {WholeLength} whole */
function runsSection(app, view, runs, whole) {
  return section(
    t('length.runs'),
    h(
      'div',
      { class: 'rows' },
      ...runs.map((run, k) => {
        const piece = whole.pieces[k];
        const m = piece.extent.surveyed_m === null ? '?' : placeText(piece.extent.surveyed_m);
        const reason = piece.fields.end_reason;
        const how = reason ? valueWords(app, view, 'run', 'end_reason', reason) : t('length.not_ended');
        const under = t(piece.turned ? 'length.run_from_other' : 'length.run_from_start', { m, how });
        return linkRow(
          `/jobs/${view.jobId}/runs/${run.id}`,
          'run',
          run.fields.run_ref ?? '?',
          keepUnits(under)
        );
      })
    )
  );
}

/** @param {App} app @param {Figures} figures @param {WholeLength} whole */
function sightSection(app, figures, whole) {
  const account = /** @type {import('../../survey/coding/visibility.js').Visibility} */ (whole.visibility);
  const disputed = whole.pieces.some((piece) => (piece.fields.least_end_counter_m ?? null) !== null);
  const lines = account.parts
    .filter((part) => part.sight !== 'clear')
    .map((part) => {
      const [from, to] = [figures.placeOf(part.from_counter_m), figures.placeOf(part.to_counter_m)];
      return partLine(
        part,
        from,
        to,
        part.record_ids.length
          ? whyWords(app, figures, part)
          : unseenWhy(part, whole.join.between, from, to, disputed)
      );
    });
  return h(
    'div',
    { 'data-figure': 'sight' },
    section(
      t('length.sight'),
      h('p', null, keepUnits(seenLine(account, defectCount(app, figures)))),
      account.looked && lines.length
        ? h(
            'ul',
            { class: 'stack-s graded' },
            ...lines.map((/** @type {string} */ words) => h('li', null, keepUnits(words)))
          )
        : null
    )
  );
}

/** @param {Figures} figures */
function levelsSection(figures) {
  const found = wholeFall(figures);
  if (!found) return section(t('length.levels'), h('p', { class: 'soft' }, t('length.levels_none')));
  const [figure, how] = withSpread(found);
  return section(
    t('length.levels'),
    h('p', { class: 'soft' }, t('fig.since_start', { m: metres(found.last) })),
    h('p', { class: 'big-figure' }, keepUnits(figure), ' ', h('small', null, keepUnits(how))),
    sketchOf(figures)
  );
}

/** @param {Figures} figures @param {WholeLength} whole */
function capacitySection(figures, whole) {
  const { capacity } = figures;
  const { between_m: between } = whole.join;
  const row =
    capacity && capacity.bottleneck && capacity.bottleneck.index !== null
      ? capacity.rows[capacity.bottleneck.index]
      : null;
  const limits = sentences((capacity?.limits ?? []).map(codeReason));
  const words = between
    ? t('length.carries_none', { m: placeText(between) })
    : limits
      ? t('length.carries_limits', { limits })
      : !row || !capacity
        ? t('length.carries_unknown')
        : t('length.carries_words', {
            q: litres(capacity.whole ?? row.capacity),
            known: knownWord((capacity.whole ?? row.capacity)?.known ?? null),
            n: capacity.rows.indexOf(row) + 1,
            from: placeText(Number(row.from_m)),
            to: placeText(Number(row.to_m))
          });
  return h(
    'div',
    { 'data-figure': 'carries' },
    section(t('length.carries'), h('p', null, keepUnits(words)), indication(t('cap.indication')))
  );
}
