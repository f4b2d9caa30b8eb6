/** One stretch in figures: its facts, capacity with its band, the flow tried, the rules beside it. */
import { h, s } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { boreSketch } from '../../ui/bore_sketch.js';
import {
  codeReason,
  crownText,
  fixedText,
  knownWord,
  litresText,
  placeText
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { filled, keepUnits, sentences } from '../../ui/format.js';
import {
  facts,
  gradientFact,
  litres,
  roughnessFacts,
  sizeFacts,
  sizeWords,
  wholeFact
} from './stretch_facts.js';

/** @typedef {import('../../survey/section/bore.js').Bore} Bore */
/** @typedef {import('../../survey/flow/disputed_pipe.js').SpannedRow} SpannedRow */
/** @typedef {import('../../survey/flow/stretch_flow.js').StretchFlow} StretchFlow */
/** @typedef {import('../../survey/flow/stretch_flow.js').StretchRule} StretchRule */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('./stretch_facts.js').Band} Band */
/** @typedef {import('./stretch_facts.js').Fact} Fact */
/**
 * @typedef {{row: SpannedRow, number: number, isBottleneck: boolean, most: number, trial:
 *   import('../figures/capacity.js').Trial, flow: StretchFlow | null, rules: StretchRule[], recorded:
 *   boolean, at: string}} About
 */

/** @param {App} app @param {About} about */
export function stretchCard(app, about) {
  const { row, number, isBottleneck, at } = about;
  const title =
    row.from_m === null
      ? t('cap.stretch', { n: number })
      : t('cap.stretch_at', { n: number, from: placeText(row.from_m), to: placeText(Number(row.to_m)) });
  const size = sizeWords(app, row);
  return h(
    'section',
    { class: 'figure-card', 'data-figure': 'stretch' },
    h(
      'h3',
      null,
      h('span', null, keepUnits(title)),
      isBottleneck ? h('span', { class: 'tag tag-notice' }, t('cap.bottleneck_tag')) : null
    ),
    h(
      'div',
      { class: 'bore-line' },
      boreSketch(row.bore, about.flow?.depth_m ?? null, t('cap.bore_alt', { size })),
      capacityBlock(about)
    ),
    facts([
      ...sizeFacts(app, row, size),
      ...roughnessFacts(row, about.recorded),
      ...wholeFact(row),
      gradientFact(row)
    ]),
    row.left_out === null && row.first_full_m !== null
      ? h('p', { class: 'small' }, keepUnits(crownText(row.first_full_m)))
      : null,
    ...(row.capacity?.findings ?? []).map((code) => h('p', { class: 'small soft' }, codeReason(code))),
    flowBlock(about),
    rulesBlock(app, about),
    button(t('cap.edit'), {
      icon: 'stretch',
      tone: 'wide quiet',
      href: `${at}/stretches/${row.id}`,
      key: `edit ${row.id}`
    })
  );
}

/** @param {About} about */
function capacityBlock({ row, most }) {
  if (row.left_out !== null) return h('p', null, t('cap.none_why', { why: codeReason(row.left_out) }));
  const band = /** @type {NonNullable<SpannedRow['capacity']>} */ (row.capacity);
  const spread =
    band.mean_m3_s !== null && band.low_m3_s !== null && band.high_m3_s !== null
      ? t('cap.band', { a: litresText(band.low_m3_s), b: litresText(band.high_m3_s) })
      : '';
  return h(
    'div',
    { class: 'stack-s' },
    h('p', { class: 'soft small' }, t('cap.full')),
    h(
      'p',
      { class: 'big-figure' },
      keepUnits(litres(band)),
      ' ',
      h('small', null, `(${knownWord(band.known)})`)
    ),
    spread ? h('p', { class: 'small' }, keepUnits(spread)) : null,
    bandBar(band, most)
  );
}

/** The band on the scale of the run's greatest. @param {Band} band @param {number} most */
function bandBar({ low_m3_s: low, mean_m3_s: mean, high_m3_s: high }, most) {
  if (most <= 0 || (low === null && mean === null && high === null)) return null;
  const x = (/** @type {number} */ q) => Math.round(8 + (q / most) * 184);
  const [from, to] = [low ?? mean ?? high, high ?? mean ?? low].map(Number);
  return h(
    'div',
    { class: 'band-bar', 'aria-hidden': 'true' },
    s(
      'svg',
      { viewBox: '0 0 200 24', preserveAspectRatio: 'none' },
      s('line', { class: 'band-rail', x1: 6, x2: 194, y1: 12, y2: 12 }),
      s('line', { class: 'band-range', x1: x(from), x2: Math.max(x(to), x(from) + 3), y1: 12, y2: 12 }),
      mean === null
        ? null
        : s('rect', { class: 'band-mean', x: x(mean) - 2, y: 3, width: 4, height: 18, rx: 1 })
    )
  );
}

/** Depth, velocity and shear of the flow tried. @param {About} about */
function flowBlock({ flow, row, trial }) {
  if (!flow) return null;
  const title = h(
    'p',
    { class: 'field-label' },
    keepUnits(t('cap.tried', { q: fixedText(trial.flow_l_s ?? 0, 1) }))
  );
  if (flow.left_out !== null)
    return h(
      'div',
      { class: 'stack-s', 'data-figure': 'flow' },
      title,
      h('p', null, codeReason(flow.left_out))
    );
  const depth = Number(flow.depth_m);
  const speed = (/** @type {number} */ one) => t('unit.m_s', { size: fixedText(one, 2) });
  const shear = (/** @type {number} */ one) => t('unit.pa', { size: fixedText(one, 2) });
  const reached = (/** @type {boolean | null} */ yes, /** @type {string} */ limit) =>
    t(yes ? 'cap.reached' : 'cap.not_reached', { limit });
  /** @type {Fact[]} */
  const list = [
    [
      t('cap.depth'),
      t('cap.depth_words', {
        mm: fixedText(1000 * depth, 0),
        pct: fixedText((100 * depth) / /** @type {Bore} */ (row.bore).height_m, 0)
      }),
      ''
    ],
    [
      t('cap.velocity'),
      speed(Number(flow.velocity_m_s)),
      reached(flow.by_velocity, speed(trial.velocity_m_s))
    ],
    [t('cap.shear'), shear(Number(flow.shear_pa)), reached(flow.by_shear, shear(trial.shear_pa))]
  ];
  return h(
    'div',
    { class: 'stack-s', 'data-figure': 'flow' },
    title,
    facts(list),
    ...flow.findings.map((code) => h('p', { class: 'small' }, h('strong', null, codeReason(code)))),
    h('p', { class: 'field-help' }, t(flow.at === 'least' ? 'cap.at_least_gradient' : 'cap.at_middle'))
  );
}

/** @param {App} app @param {About} about */
function rulesBlock(app, { rules, row }) {
  const wall = app.tables.roughness.rows.find((one) => one.value === row.roughness_value);
  if (rules.length === 0 && !wall) return null;
  const items = rules.map((one) => {
    if (one.one_in === null)
      return h('li', null, sentences([t('cap.rule_none_foul_drains'), ...one.findings.map(codeReason)]));
    const table = app.tables.minimum_gradients;
    const drains = /** @type {'foul_drains' | 'surface_water_drains'} */ (one.rule);
    const from = one.rule === 'one_in_dn' ? table.one_in_dn : table[drains][Number(one.row)];
    const name = t(`cap.rule_${one.rule}`, { n: fixedText(one.one_in, 0) });
    return h(
      'li',
      null,
      h(
        'span',
        null,
        ...filled('cap.rule_line', {
          rule: keepUnits(name),
          verdict: h('strong', null, t(`cap.verdict_${one.verdict}`))
        })
      ),
      ...one.findings.map((code) => ` ${codeReason(code)}`),
      ' ',
      h('span', { class: 'limit-words' }, t('cap.source', { source: from.source, certainty: from.certainty }))
    );
  });
  return h(
    'details',
    null,
    h('summary', null, t('cap.rules')),
    wall
      ? h(
          'p',
          { class: 'small soft' },
          t('cap.roughness_from', { source: wall.k_s_source, certainty: wall.k_s_certainty })
        )
      : null,
    h('p', { class: 'field-help' }, t('cap.rules_why')),
    h('ul', { class: 'stack-s small' }, ...items)
  );
}
