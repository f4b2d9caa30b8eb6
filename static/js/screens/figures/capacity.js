/** What each stretch of a run can carry, what chokes it, and how a flow typed in would run. */
import { h, refill } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { numberControl } from '../../forms/fields/fields_plain.js';
import { stretchFlows, stretchRules } from '../../survey/flow/stretch_flow.js';
import { indication, lineList, toolsLine } from '../parts/log_figures.js';
import { figuresOf } from '../parts/figures_of.js';
import { stretchCard } from '../parts/stretch_card.js';
import { litres } from '../parts/stretch_facts.js';
import {
  codeReason,
  crownText,
  knownWord,
  litresText,
  placeText,
  reasonText,
  surchargeText
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, listed } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../survey/flow/disputed_pipe.js').SpannedRow} SpannedRow */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {{flow_l_s: number | null, velocity_m_s: number, shear_pa: number, wcs: number}} Trial */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  const limits = app.tables.minimum_gradients.self_cleansing;
  /** @type {Trial} */
  const trial = {
    flow_l_s: null,
    wcs: 0,
    velocity_m_s: limits.find((one) => one.least_velocity_m_s !== null)?.least_velocity_m_s ?? 0.7,
    shear_pa: limits.find((one) => one.least_shear_pa !== null)?.least_shear_pa ?? 1,
    ...(await app.store.setting('capacity_trial'))
  };
  const cards = h('div', { class: 'stack' });
  /** @type {Figures | null} */
  let figures = null;
  const show = () => {
    if (figures) refill(cards, ...stretchCards(app, figures, trial, at));
  };
  const form = trialForm(app, trial, () => {
    void app.store.setSetting('capacity_trial', { ...trial });
    show();
  });
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    figures = figuresOf(app, view, run);
    page.head({ title: t('cap.title'), eyebrow: run.fields.run_ref ?? '?', back: at, small: true });
    show();
    page.body(
      indication(t('cap.indication')),
      bottleneckSection(figures),
      section(t('cap.try'), form),
      cards,
      figures.capacity?.rows.length
        ? button(t('culvert.open'), { icon: 'water', tone: 'wide quiet', href: `${at}/culvert` })
        : (refusedNote(figures) ?? noStretches(at)),
      toolsLine(figures, params.job)
    );
  });
}

/** Why there is no capacity, where it was refused. @param {Figures} figures */
function refusedNote({ refused }) {
  return refused.capacity ? h('p', null, codeReason(refused.capacity)) : null;
}

/** @param {string} at */
function noStretches(at) {
  return h(
    'div',
    { class: 'stack-s' },
    h('p', null, t('cap.no_stretches')),
    button(t('cap.add_stretch'), { icon: 'stretch', tone: 'wide action', href: `${at}/stretches/new` })
  );
}

/** The fields of a flow to try; what is typed wrongly is said and the last sound value goes on.
 * @param {App} app @param {Trial} trial @param {() => void} changed */
function trialForm(app, trial, changed) {
  /**
   * @param {keyof Trial} name
   * @param {string} label
   * @param {string} unit
   * @param {number} maximum
   * @param {Partial<import('../../ui/types.js').Field>} [more]
   */
  const control = (name, label, unit, maximum, more = {}) => {
    const one = numberControl({ name, label, type: 'number', unit, minimum: 0, maximum, ...more }, () => {
      const { value, error } = one.read();
      one.fault(error ?? '');
      if (error || (value === null && name !== 'flow_l_s')) return;
      Object.assign(trial, { [name]: value });
      changed();
    });
    one.setValue(trial[name]);
    return one.element;
  };
  const limits = app.tables.minimum_gradients.self_cleansing;
  /** @param {'least_velocity_m_s' | 'least_shear_pa'} name */
  const source = (name) => {
    const row = limits.find((one) => one[name] !== null);
    return row ? `${row.source} (${row.certainty})` : '';
  };
  return h(
    'div',
    { class: 'stack' },
    control('flow_l_s', t('cap.flow_label'), 'l/s', 100_000),
    h(
      'details',
      null,
      h('summary', null, t('cap.limits')),
      h(
        'p',
        { class: 'field-help' },
        t('cap.limits_why', { velocity: source('least_velocity_m_s'), shear: source('least_shear_pa') })
      ),
      h(
        'div',
        { class: 'pair' },
        control('velocity_m_s', t('cap.velocity_label'), 'm/s', 20),
        control('shear_pa', t('cap.shear_label'), 'Pa', 1000)
      ),
      control('wcs', t('cap.wcs_label'), '', 10_000, { whole: true })
    )
  );
}

/** @param {App} app @param {Figures} figures @param {Trial} trial @param {string} at */
function stretchCards(app, figures, trial, at) {
  const rows = figures.capacity?.rows ?? [];
  const flow = trial.flow_l_s === null ? null : trial.flow_l_s / 1000;
  const flows =
    flow === null || flow === 0 ? null : stretchFlows(rows, flow, trial.velocity_m_s, trial.shear_pa);
  const most = Math.max(
    0,
    ...rows.flatMap((row) => [
      row.capacity?.high_m3_s ?? 0,
      row.capacity?.mean_m3_s ?? 0,
      row.capacity?.low_m3_s ?? 0
    ])
  );
  return rows.map((row, i) =>
    stretchCard(app, {
      row,
      number: i + 1,
      isBottleneck: figures.capacity?.bottleneck?.index === i,
      most,
      trial,
      flow: flows ? flows[i] : null,
      at,
      recorded: typeof figures.stretches.find((one) => one.id === row.id)?.fields.roughness_mm === 'number',
      rules: stretchRules(row, app.tables.minimum_gradients, flow ?? 0, trial.wcs)
    })
  );
}

/** @param {Figures} figures */
function bottleneckSection({ capacity, records: { nodes } }) {
  if (!capacity || capacity.rows.length === 0) return null;
  const way = h(
    'p',
    { class: 'soft small' },
    t('cap.flow', {
      way: t(capacity.flow === 'with_flow' ? 'cap.with_flow' : 'cap.against_flow'),
      known: knownWord(capacity.flow_known)
    })
  );
  const bottleneck = capacity.bottleneck;
  if (!bottleneck || bottleneck.index === null)
    return section(
      t('cap.bottleneck'),
      h('p', null, t('cap.bottleneck_none')),
      ...capacity.limits.map((code) => h('p', null, codeReason(code))),
      way
    );
  const row = capacity.rows[bottleneck.index];
  const line = /** @type {const} */ ({
    key: 'bottleneck',
    tone: 'notice',
    icon: 'alert',
    words: t('cap.bottleneck_words', {
      n: bottleneck.index + 1,
      from: placeText(Number(row.from_m)),
      to: placeText(Number(row.to_m)),
      q: litres(row.capacity),
      known: knownWord(row.capacity?.known ?? null)
    })
  });
  const whole = capacity.whole;
  const more =
    whole && capacity.rows.length > 1
      ? [
          t('cap.whole', {
            q: litres(whole),
            a: litresText(whole.low_m3_s),
            b: litresText(whole.high_m3_s),
            known: knownWord(whole.known)
          })
        ]
      : [];
  if (whole && whole.at_m !== null) more.push(crownText(whole.at_m));
  if (whole?.surcharge)
    more.push(
      surchargeText(
        whole.surcharge.discharge_m3_s,
        whole.surcharge.low_m3_s,
        whole.surcharge.high_m3_s,
        nodes.find((one) => one.id === whole.surcharge?.node_id)?.fields.node_ref ?? t('node.unknown'),
        whole.surcharge.level_m
      )
    );
  more.push(...bottleneck.reasons.map((one) => reasonText(one.code, one.without_m3_s)));
  const list = (/** @type {number[]} */ places) => listed(places.map((i) => String(i + 1)));
  if (bottleneck.rivals.length) more.push(t('cap.rivals', { list: list(bottleneck.rivals) }));
  more.push(...capacity.limits.map(codeReason));
  if (bottleneck.no_number.length) more.push(t('cap.no_number', { list: list(bottleneck.no_number) }));
  return section(
    t('cap.bottleneck'),
    lineList([line]),
    more.length
      ? h('ul', { class: 'stack-s' }, ...more.map((words) => h('li', null, keepUnits(words))))
      : null,
    way
  );
}
