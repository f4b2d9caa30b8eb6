/** What a trace rests on: start, bearing, lengths, bends, and a position of the far node that ties it. */
import { h } from '../../ui/elements.js';
import { note, section } from '../../ui/page.js';
import {
  bearingText,
  fixedSignedText,
  fixedText,
  knownWord,
  metres,
  placeText,
  northWord
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, phrases, sentences } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */

/** @param {Figures} figures */
export function tiedWords({ trace }) {
  const found = trace?.trace;
  if (!trace?.tied || !found?.misclosure_m) return null;
  const [e, n] = found.misclosure_m;
  const words = t('trace.tied', {
    m: fixedText(Math.hypot(e, n), 1),
    size: fixedText(found.misclosure_size ?? 0, 1)
  });
  return note(
    found.suspect ? 'notice' : 'plain',
    h('p', null, sentences([words, t(found.suspect ? 'trace.tied_suspect' : 'trace.tied_fits')])),
    found.bearing_correction_deg === null
      ? null
      : h(
          'p',
          { class: 'small' },
          t('trace.tied_turn', { deg: fixedSignedText(found.bearing_correction_deg, 1) })
        )
  );
}

/** @param {Figures} figures @param {{start: string, end: string}} names */
export function traceFacts(figures, names) {
  const { trace, extent } = figures;
  if (!trace) return null;
  const last = trace.trace?.points[trace.trace.points.length - 1];
  /** @type {Array<[string, string, string]>} */
  const rows = [
    [t('trace.start_node'), names.start, startWords(figures)],
    [
      t('trace.bearing'),
      trace.bearing_deg === null
        ? knownWord(null)
        : t('fig.deg_sd', {
            deg: bearingText(trace.bearing_deg),
            sd: fixedText(trace.bearing_sd_deg ?? 0, 1)
          }),
      trace.bearing_deg === null
        ? ''
        : t('trace.bearing_how', {
            north: northWord(String(trace.north)),
            known: knownWord(trace.bearing_known)
          })
    ],
    ...declinationRow(trace),
    ...convergenceRow(trace),
    [t('trace.length'), metres(trace.length_m, null), knownWord(figures.instruments.scale_known)],
    [t('trace.plan'), planWords(trace), knownWord(trace.plan_known)],
    [
      t('trace.bends'),
      trace.bends.length
        ? phrases(trace.bends.map(bendWords))
        : t(trace.loose.length ? 'trace.bends_lost' : 'trace.bends_none'),
      ''
    ],
    ...trace.loose.map(looseRow),
    ...trace.joints.filter((one) => one.count).map(jointRow),
    ...tieRow(trace, names.end)
  ];
  if (last) {
    rows.push([
      t('trace.ellipse'),
      t('trace.ellipse_words', {
        a: fixedText(last.ellipse.semi_major_m, 1),
        b: fixedText(last.ellipse.semi_minor_m, 1),
        deg: bearingText(last.ellipse.azimuth_deg)
      }),
      t('trace.radius_why')
    ]);
  }
  return section(
    t('trace.facts'),
    h(
      'div',
      { class: 'figure-card' },
      h(
        'dl',
        { class: 'facts' },
        ...rows.flatMap(([label, value, how]) => [
          h('dt', null, label),
          h('dd', null, keepUnits(value), how ? h('span', { class: 'how' }, how) : null)
        ])
      )
    ),
    ...trace.left_out.map((one) => h('p', { class: 'small' }, leftOutWords(figures, one))),
    extent?.remaining_m
      ? h(
          'p',
          null,
          keepUnits(
            t('trace.remaining', {
              m: metres(extent.surveyed_m, null),
              rest: metres(extent.remaining_m, null),
              expected: metres(extent.expected_m, null)
            })
          )
        )
      : null
  );
}

/** @typedef {import('../../survey/plan/run_trace.js').RunTrace} RunTrace */
/** @typedef {[string, string, string]} Row */

/** @param {Figures} figures */
function startWords({ trace, records, run }) {
  const at = records.nodes.findLast((one) => one.id === run.start_node_id)?.fields.position;
  if (!at || !trace?.start) return t('trace.start_unknown');
  return t('value.how', {
    value: t('trace.start_position', {
      lat: at.lat_deg,
      lon: at.lon_deg,
      m: fixedText(trace.start_radius_m, 1)
    }),
    how: statedWords(trace.start)
  });
}

/**
 * How a position is known, and what its source states where that is another radius.
 * @param {import('../../survey/plan/trace_basis.js').PositionUsed} used
 */
function statedWords({ radius_m: radius, known: provenance, stated_m: stated, stated_pct: pct }) {
  if (stated === null || stated === radius) return knownWord(provenance);
  return t('trace.stated', { m: fixedText(stated, 1), pct: fixedText(pct ?? 0, 0) });
}

/** @param {RunTrace} trace @returns {Row[]} */
function declinationRow({ declination: used }) {
  if (!used) return [];
  const how =
    used.model || (used.known ? t(`trace.declination_${used.known}`) : t('trace.declination_unknown'));
  return [
    [
      t('trace.declination'),
      t('fig.deg_sd', { deg: `${fixedSignedText(used.deg, 2)}°`, sd: fixedText(used.sd_deg, 1) }),
      t('trace.sd_how', { how, known: knownWord(used.sd_known) })
    ]
  ];
}

/** @param {RunTrace} trace @returns {Row[]} */
function convergenceRow({ convergence: used }) {
  if (!used) return [];
  const how = t(used.known === 'typed' ? 'trace.convergence_typed' : 'trace.convergence_computed');
  return [[t('trace.convergence'), `${fixedSignedText(used.deg, 2)}°`, how]];
}

/** @param {import('../../survey/plan/bends.js').LooseTurn} one @returns {Row} */
function looseRow(one) {
  return [
    t('trace.loose', { m: placeText(one.chainage_m) }),
    t('trace.loose_sd', { sd: fixedText(one.sd_deg, 0) }),
    knownWord('assumed')
  ];
}

/** @param {import('../../survey/plan/joints.js').JointLength} one @returns {Row} */
function jointRow(one) {
  return [
    t('trace.joints', { from: placeText(one.from_m), to: placeText(one.to_m) }),
    t('trace.joints_words', {
      n: one.count,
      pipe: fixedText(one.pipe_m, 2),
      sd: fixedText(one.sd_deg, 1)
    }),
    t('trace.joints_how', { known: knownWord(one.pipe_known) })
  ];
}

/** @param {RunTrace} trace @param {string} end @returns {Row[]} */
function tieRow({ tie }, end) {
  return tie
    ? [
        [
          t('trace.tie_row'),
          end,
          t('value.how', {
            value: t('trace.tie_position', { m: fixedText(tie.radius_m, 1) }),
            how: statedWords(tie)
          })
        ]
      ]
    : [];
}

/** @param {import('../../survey/plan/run_trace.js').RunTrace} trace */
function planWords(trace) {
  if (trace.plan_low_m === null || trace.plan_high_m === null) return knownWord(null);
  if (trace.plan_known !== 'bounded') return metres(trace.plan_high_m, null);
  return t('trace.plan_between', { a: placeText(trace.plan_low_m), b: placeText(trace.plan_high_m) });
}

/** @param {import('../../survey/plan/run_trace.js').TracedBend} bend */
function bendWords(bend) {
  return t('trace.bend', {
    deg: fixedText(Math.abs(bend.deflection_deg), 0),
    side: t(bend.deflection_deg < 0 ? 'trace.left' : 'trace.right'),
    m: placeText(bend.chainage_m),
    sd: fixedText(bend.sd_deg, 0),
    known: knownWord(bend.known)
  });
}

/** @param {Figures} figures @param {{id: string, code: string}} one */
function leftOutWords({ records, placeOf }, one) {
  const counterM = records.observations.find((record) => record.id === one.id)?.fields.counter_m;
  const m = typeof counterM === 'number' ? metres(placeOf(counterM), null) : '?';
  return t('trace.left_out', {
    m,
    why: t(/** @type {import('../../ui/types.js').MessageKey} */ (`trace_left.${one.code}`))
  });
}
