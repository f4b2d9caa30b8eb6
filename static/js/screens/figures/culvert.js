/** One stretch as a short culvert: what it passes under a headwater, by inlet and outlet control. */
import { keepUnits } from '../../ui/format.js';
import { h, refill } from '../../ui/elements.js';
import { section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { numberControl, selectControl } from '../../forms/fields/fields_plain.js';
import { SurveyError } from '../../survey/errors.js';
import { inletsFor, runCulvert } from '../../survey/flow/run_culvert.js';
import { indication } from '../parts/log_figures.js';
import { figuresOf } from '../parts/figures_of.js';
import { litres } from '../parts/stretch_facts.js';
import { codeReason, knownWord, litresText, placeText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../survey/flow/run_capacity.js').CapacityRow} CapacityRow */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../survey/flow/culvert_inlet.js').InletState} InletState */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/**
 * @typedef {{stretch: string, inlet: string | null, headwater_m: number | null, tailwater_m: number,
 *   length_m: number | null}} Trial
 */

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}/runs/${params.run}`;
  /** @type {Trial} */
  const trial = {
    stretch: '0',
    inlet: null,
    headwater_m: null,
    tailwater_m: 0,
    length_m: null,
    ...(await app.store.setting(`culvert ${params.run}`))
  };
  const result = h('div', { class: 'stack', role: 'status' });
  /** @type {CapacityRow[]} */
  let rows = [];
  // the stretches that the form is of: it is made again for others only, never under what is being typed
  let drawn = '';
  const show = () => refill(result, ...answer(app, rows, trial));
  const kept = () => {
    void app.store.setSetting(`culvert ${params.run}`, { ...trial });
    show();
  };
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const run = mustRecord(view, 'run', params.run);
    rows = figuresOf(app, view, run).capacity?.rows ?? [];
    page.head({
      title: t('culvert.title'),
      eyebrow: run.fields.run_ref ?? '?',
      back: `${at}/capacity`,
      small: true
    });
    const now = JSON.stringify(rows.map((row, i) => [name(row, i), lengthOf(row), row.bore?.kind]));
    if (now !== drawn) {
      page.body(
        indication(t('culvert.why')),
        rows.length ? form(app, rows, trial, kept) : h('p', null, t('cap.no_stretches')),
        result
      );
      drawn = now;
    }
    show();
  });
}

/** @param {App} app @param {CapacityRow[]} rows @param {Trial} trial @param {() => void} changed */
function form(app, rows, trial, changed) {
  const row = rows[Number(trial.stretch)] ?? rows[0];
  const inlets = inletsFor(app.tables.culvert_inlets.rows, row.bore?.kind ?? '');
  /**
   * @param {'headwater_m' | 'tailwater_m' | 'length_m'} name
   * @param {string} label
   * @param {string} help
   * @param {number} minimum
   */
  const metres = (name, label, help, minimum) => {
    const one = numberControl({ name, label, help, type: 'number', unit: 'm', minimum, maximum: 100 }, () => {
      const { value, error } = one.read();
      one.fault(error ?? '');
      if (error || (value === null && name === 'tailwater_m')) return;
      Object.assign(trial, { [name]: value });
      changed();
    });
    one.setValue(trial[name] ?? (name === 'length_m' ? lengthOf(row) : null));
    return one.element;
  };
  const stretch = selectControl(
    {
      name: 'stretch',
      label: t('culvert.stretch'),
      type: 'choice',
      choices: rows.map((one, i) => ({ value: String(i), label: name(one, i) }))
    },
    () => {
      Object.assign(trial, { stretch: stretch.raw() || '0', inlet: null, length_m: null });
      const again = form(app, rows, trial, changed);
      box.replaceWith(again);
      changed();
    }
  );
  stretch.setValue(trial.stretch);
  const inlet = selectControl(
    {
      name: 'inlet',
      label: t('culvert.inlet'),
      type: 'choice',
      choices: inlets.map((one) => ({ value: one.value, label: one.label }))
    },
    () => {
      trial.inlet = inlet.raw() || null;
      changed();
    }
  );
  inlet.setValue(trial.inlet);
  const box = h(
    'div',
    { class: 'stack' },
    rows.length > 1 ? stretch.element : null,
    inlets.length ? inlet.element : h('p', null, t('culvert.no_inlet')),
    metres('headwater_m', t('culvert.headwater'), t('culvert.headwater_help'), 0.01),
    metres('tailwater_m', t('culvert.tailwater'), t('culvert.tailwater_help'), 0),
    metres('length_m', t('culvert.length'), '', 0.1)
  );
  return box;
}

/** @param {CapacityRow} row @param {number} i */
function name(row, i) {
  return row.from_m === null
    ? t('cap.stretch', { n: i + 1 })
    : t('culvert.stretch_words', { n: i + 1, from: placeText(row.from_m), to: placeText(Number(row.to_m)) });
}

/** @param {CapacityRow} row @returns {number | null} to the centimetre, as it is shown */
function lengthOf(row) {
  return row.from_m === null || row.to_m === null ? null : Math.round((row.to_m - row.from_m) * 100) / 100;
}

/** @param {App} app @param {CapacityRow[]} rows @param {Trial} trial */
function answer(app, rows, trial) {
  const row = rows[Number(trial.stretch)] ?? rows[0];
  const inlet = app.tables.culvert_inlets.rows.find((one) => one.value === trial.inlet);
  const lengthM = trial.length_m ?? (row ? lengthOf(row) : null);
  if (!row || !inlet || trial.headwater_m === null || lengthM === null)
    return [h('p', { class: 'soft' }, t('culvert.choose'))];
  try {
    return [card(runCulvert(row, lengthM, inlet, trial.headwater_m, trial.tailwater_m), inlet)];
  } catch (error) {
    if (!(error instanceof SurveyError)) throw error;
    return [h('p', null, t('culvert.none', { why: codeReason(error.code) }))];
  }
}

/** @param {import('../../survey/flow/run_culvert.js').RunCulvert} found
 * @param {import('../../records/tables.js').CulvertInlet} inlet */
function card(found, inlet) {
  const findings = (found.findings ?? []).map((/** @type {string} */ code) =>
    h('p', { class: 'small soft' }, codeReason(code))
  );
  const source = h(
    'p',
    { class: 'small soft' },
    t('culvert.source', { source: inlet.source, certainty: inlet.certainty })
  );
  if (found.discharge_m3_s === null)
    return h('section', { class: 'figure-card' }, h('p', null, t('cap.none')), ...findings, source);
  const words = (/** @type {number | null} */ q) => litres({ low_m3_s: null, mean_m3_s: q, high_m3_s: null });
  const wide =
    found.low_m3_s !== null &&
    found.high_m3_s !== null &&
    litresText(found.low_m3_s) !== litresText(found.high_m3_s);
  const band = wide
    ? h(
        'p',
        { class: 'small' },
        keepUnits(
          t('culvert.between', {
            a: litresText(/** @type {number} */ (found.low_m3_s)),
            b: litresText(/** @type {number} */ (found.high_m3_s))
          })
        )
      )
    : null;
  return section(
    t('culvert.passes'),
    h(
      'section',
      { class: 'figure-card', 'data-figure': 'culvert' },
      h(
        'p',
        { class: 'big-figure' },
        keepUnits(words(found.discharge_m3_s)),
        ' ',
        h('small', null, `(${knownWord(found.known)})`)
      ),
      band,
      h(
        'p',
        null,
        found.control === 'inlet'
          ? t('culvert.inlet_control', {
              state: t(`culvert_state.${/** @type {InletState} */ (found.state)}`)
            })
          : t('culvert.outlet_control')
      ),
      h(
        'p',
        { class: 'small' },
        keepUnits(t('culvert.by_inlet', { q: litresText(/** @type {number} */ (found.inlet_m3_s)) }))
      ),
      h(
        'p',
        { class: 'small' },
        keepUnits(t('culvert.by_outlet', { q: litresText(/** @type {number} */ (found.outlet_m3_s)) }))
      ),
      ...findings,
      source
    )
  );
}
