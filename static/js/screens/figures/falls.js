/**
 * The falls of a run: every length, standing water, level ties and how they fit, the counter at the far node.
 */
import { h } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import {
  adjustedText,
  backfallLine,
  fallText,
  knownOf,
  sagLine,
  tieLines,
  tiesAlong,
  wholeFall
} from '../parts/figure_words.js';
import { lineList, sketchOf, toolsLine, withSpread } from '../parts/log_figures.js';
import { figuresOf } from '../parts/figures_of.js';
import {
  codeReason,
  degreesText,
  changeParts,
  fixedSignedText,
  fixedText,
  knownWord,
  metres,
  oneInText,
  percentText,
  placeText,
  seenText,
  volumeText,
  waterVerdict
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, listed, sentences } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    const figures = figuresOf(app, view, run);
    page.head({ title: t('falls.title'), eyebrow: run.fields.run_ref ?? '?', back: at, small: true });
    page.body(
      whole(figures),
      sketchOf(figures),
      waterSection(figures),
      tiesSection(figures, at),
      counterSection(figures, params.job),
      section(t('falls.table'), lengthTable(figures)),
      toolsLine(figures, params.job)
    );
  });
}

/** @param {Figures} figures */
function whole(figures) {
  const found = wholeFall(figures);
  const [figure, how] = found ? withSpread(found) : ['', ''];
  if (!found)
    return h(
      'p',
      { class: 'soft' },
      figures.refused.profile ? codeReason(figures.refused.profile) : t('falls.none')
    );
  return h(
    'div',
    { class: 'figure-card', 'data-figure': 'whole' },
    h('p', { class: 'soft' }, t('fig.since_start', { m: metres(found.last, null) })),
    h('p', { class: 'big-figure' }, keepUnits(figure), ' ', h('small', null, keepUnits(how))),
    ...remarks(figures).map((words) => h('p', { class: 'small soft' }, words))
  );
}

/** What became of records and instruments on the way. @param {Figures} figures @returns {string[]} */
function remarks({ profile, model }) {
  if (!profile || !model) return [];
  const found = [];
  const [beyond, out] = [profile.beyond_limit.length, model.left_out.length];
  if (beyond) found.push(t('fig.beyond_limit', { n: beyond }));
  if (out) found.push(t('fig.left_out', { n: out }));
  return found;
}

/** @param {Figures} figures */
function waterSection(figures) {
  const { water } = figures;
  if (!water) return null;
  const lines = [...water.backfalls.map(backfallLine), ...water.sags.map(sagLine)];
  return section(
    t('falls.water'),
    h('p', { class: 'field-help' }, t(water.flow === 'unknown' ? 'falls.water_unknown' : 'falls.water_why')),
    lines.length ? lineList(lines) : h('p', null, t('falls.water_none')),
    ...water.sags.map(sagFacts),
    ...water.checks.map(seenLine)
  );
}

/** @param {import('../../survey/levels/ponding.js').Sag} sag */
function sagFacts(sag) {
  const how = knownWord('computed');
  const volume = volumeText(sag.volume_m3);
  const further = sentences([sag.open_end && t('falls.sag_open'), sag.fills && t('falls.sag_fills')]);
  return h(
    'div',
    { class: 'figure-card' },
    h(
      'dl',
      { class: 'facts' },
      h('dt', null, t('falls.sag_length')),
      h('dd', null, t('value.how', { value: metres(sag.length_m, null), how })),
      h('dt', null, t('falls.sag_volume')),
      h('dd', null, sag.volume_m3 === null ? volume : t('value.how', { value: volume, how }))
    ),
    further ? h('p', { class: 'small' }, further) : null
  );
}

/** @param {NonNullable<Figures['water']>['checks'][number]} check */
function seenLine(check) {
  const words = seenText(check.chainage_m, check.observed_m, check.sd_m, check.computed_m);
  return h(
    'p',
    { class: 'small', 'data-figure': 'seen' },
    keepUnits(words),
    ' ',
    h('strong', null, waterVerdict(check.verdict))
  );
}

/** @param {Figures} figures @param {string} at */
function tiesSection(figures, at) {
  const { profile, model } = figures;
  if (!profile || !model) return null;
  const ties = tiesAlong(model.ties).map(([tie, i]) =>
    h(
      'li',
      { class: 'small soft' },
      keepUnits(
        t('falls.tie_level', {
          at: metres(tie.chainage_m, null),
          m: metres(tie.level_m, tie.sd_m),
          known: model.tie_known[i],
          adjusted: adjustedText(figures, i)
        })
      )
    )
  );
  return section(
    t('falls.ties'),
    ties.length ? h('ul', { class: 'stack-s' }, ...ties) : h('p', { class: 'soft' }, t('falls.ties_none')),
    lineList(tieLines(figures)),
    ties.length > 1
      ? h(
          'p',
          { class: 'field-help' },
          t('falls.zero', {
            deg: fixedSignedText(profile.zero_deg, 3),
            sd: fixedText(profile.zero_sd_deg, 3)
          })
        )
      : null,
    button(t('falls.tie_add'), { icon: 'tie', tone: 'wide', href: `${at}/ties/new` })
  );
}

/**
 * A correction is offered and stated, never applied silently.
 * @param {Figures} figures
 * @param {string} jobId
 */
function counterSection(figures, jobId) {
  const extent = figures.extent;
  const check = extent?.far_check;
  if (!extent) return null;
  if (!check) {
    const rest =
      extent.remaining_m === null
        ? t('falls.counter_none')
        : t('falls.counter_open', {
            m: metres(extent.surveyed_m, null),
            rest: metres(extent.remaining_m, null),
            expected: metres(extent.expected_m, null)
          });
    return section(t('falls.counter'), h('p', { class: 'soft' }, keepUnits(rest)));
  }
  const values = {
    m: metres(extent.surveyed_m, null),
    expected: metres(extent.expected_m, null),
    diff: metres(Math.abs(check.difference_m), null),
    allowed: metres(check.allowed_m, null)
  };
  const line = {
    key: 'counter',
    tone: /** @type {'notice' | 'plain'} */ (check.flagged ? 'notice' : 'plain'),
    icon: check.flagged ? 'alert' : 'tick',
    words: check.flagged
      ? t('falls.counter_flagged', { ...values, pct: fixedSignedText(check.difference_pct, 1) })
      : t('falls.counter_fits', values)
  };
  return section(
    t('falls.counter'),
    lineList([line]),
    check.flagged
      ? h('p', { class: 'small' }, t('falls.counter_factor', { factor: fixedText(check.factor, 4) }))
      : null,
    check.flagged
      ? button(t('falls.tape'), {
          icon: 'gauge',
          tone: 'wide',
          href: `/jobs/${jobId}/checks/new?type=counter_tape`
        })
      : null
  );
}

/** @param {Figures} figures */
function lengthTable(figures) {
  const rows = figures.lengths ?? [];
  if (rows.length === 0) return h('p', { class: 'soft' }, t('falls.none'));
  const head = [t('falls.col_length'), t('falls.col_gradient'), t('falls.col_fall')].map((words) =>
    h('th', { scope: 'col' }, words)
  );
  return h(
    'div',
    { class: 'stack-s' },
    h('p', { class: 'field-help' }, t('falls.table_why')),
    h(
      'div',
      { class: 'table-card' },
      h(
        'table',
        { class: 'figures lengths' },
        h('thead', null, h('tr', null, ...head)),
        h('tbody', null, ...rows.map(lengthRow))
      )
    )
  );
}

/** @param {import('../../survey/levels/falls.js').LengthRow} row */
function lengthRow(row) {
  const gradient =
    row.deg === null
      ? [h('span', { class: 'main-figure' }, '—')]
      : [
          h('span', { class: 'main-figure' }, oneInText(row.deg)),
          h('span', { class: 'how' }, keepUnits(listed([percentText(row.deg), degreesText(row.deg)])))
        ];
  const [fall, spread] = row.fall_m === null ? [fallText(row), ''] : changeParts(-row.fall_m, row.sd_m);
  return h(
    'tr',
    { class: row.known },
    h(
      'td',
      null,
      h('span', { class: 'main-figure' }, placeText(row.from_m)),
      h('span', { class: 'how' }, t('falls.to_place', { to: placeText(row.to_m) }))
    ),
    h('td', null, ...gradient),
    h(
      'td',
      null,
      h('span', { class: row.fall_m === null ? '' : 'main-figure' }, keepUnits(fall)),
      h(
        'span',
        { class: 'how' },
        listed([spread && keepUnits(t('falls.sd', { sd: spread })), knownOf(row.known)])
      )
    )
  );
}
