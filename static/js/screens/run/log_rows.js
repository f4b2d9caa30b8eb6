/** The rows of a run's log, in order of distance, each with what was found odd about it. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { apart, fixed, keepUnits, listed, metres, sentences } from '../../ui/format.js';
import { button } from '../../ui/page.js';
import { picture } from '../../ui/picture.js';
import { pictogram } from '../../ui/pictograms.js';
import { recordedEnd } from '../../survey/coding/run_end.js';
import { shownM } from '../../survey/instruments/counter_resets.js';
import { inFile } from '../../files/in_file.js';
import { inclinationIcon, meaningParts } from '../../forms/fields/inclination.js';
import { worstMark } from '../parts/condition_parts.js';
import { adjustedText } from '../parts/figure_words.js';
import { observationWords, recordPath, valueWords } from '../parts/describe.js';
import { verdictText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */
/** @typedef {import('../../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../../records/types.js').PhotoRecord} PhotoRecord */
/** @typedef {import('../../records/types.js').Kind} Kind */
/** @typedef {ReturnType<typeof import('../parts/run_survey.js').runSurvey>} Survey */
/**
 * A record with a place, of whatever kind it is.
 * @typedef {{id: string, fields: import('../../ui/types.js').AnyFields, conflicts?: object}} Placed
 */
/** @typedef {{record: Placed, kind: Kind, place: number, title: Node | string, under: string}} Row */

const MAX_ROWS = 300; // rows drawn at once; the earlier ones are a tap away
/** @type {Set<string>} runs whose whole log was asked for */
const unfolded = new Set();

/** At one place the order is that in which a surveyor thinks of them. */
const ORDER = ['stretch', 'level_tie', 'reading', 'observation', 'photo', 'remark', 'run'];

/**
 * @param {App} app
 * @param {JobView} view
 * @param {import('../../records/types.js').RunRecord} run
 * @param {Survey} survey
 * @returns {Promise<HTMLElement>}
 */
export async function logRows(app, view, run, survey) {
  const { photos, level_ties: ties, stretches, remarks } = survey.figures.records;
  /** @type {Set<string>} */
  const owners = new Set([...survey.observations, ...survey.readings].map((one) => one.id));
  const attached = (/** @type {string} */ id) => photos.filter((one) => one.fields.belongs_to === id);
  const graded = byRecord(survey.figures.grading?.graded ?? []);
  /** @type {Row[]} */
  const rows = [
    ...survey.readings.map((one) =>
      row('reading', one, one.fields.counter_m, readingTitle(one), readingUnder(one))
    ),
    ...survey.observations.map((one) => {
      const { title, under, row: code } = observationWords(app, one);
      const mark = worstMark(app, graded.get(one.id) ?? []);
      return row(
        'observation',
        one,
        one.fields.counter_m,
        h('span', null, pictogram(code?.pictogram), title, mark),
        under
      );
    }),
    ...ties.map((one) =>
      row(
        'level_tie',
        one,
        one.fields.counter_m,
        t('log.tie', { m: metres(one.fields.invert_level_m ?? NaN, 3) }),
        tieUnder(app, view, survey.figures, one)
      )
    ),
    ...stretches.map((one) =>
      row(
        'stretch',
        one,
        one.fields.from_counter_m,
        stretchTitle(app, view, one),
        stretchUnder(app, view, one, survey.figures.stretches)
      )
    ),
    ...endRow(app, view, run, survey),
    ...remarks.map((one) => row('remark', one, one.fields.counter_m, one.fields.text ?? '', t('remark.one'))),
    ...photos
      .filter((one) => !owners.has(one.fields.belongs_to ?? ''))
      .map((one) =>
        row('photo', one, one.fields.counter_m, one.fields.caption || t('photo.no_caption'), t('photo.one'))
      )
  ];
  if (rows.length === 0) return h('p', { class: 'soft' }, t('log.empty'));
  rows.sort(
    (a, b) =>
      a.place - b.place ||
      ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) ||
      (a.record.id < b.record.id ? -1 : 1)
  );
  const found = byRecord(survey.findings);
  const own = new Set(rows.map((one) => one.record.id));
  const elsewhere = survey.findings.some((one) => one.code === 'value_not_whole' && !own.has(one.record_id));
  const log = h('div', { class: 'log' });
  const draw = (/** @type {Row[]} */ some) =>
    Promise.all(
      some.map((one) => {
        const thumbs = one.kind === 'photo' ? [one.record] : attached(one.record.id);
        const path =
          one.kind === 'run'
            ? `/jobs/${view.jobId}/runs/${run.id}/edit?part=end`
            : recordPath(view.jobId, one.kind, one.record);
        return logRow(app, found.get(one.record.id) ?? [], one, thumbs, path);
      })
    );
  const whole = rows.length <= MAX_ROWS || unfolded.has(run.id);
  log.append(...(await draw(whole ? rows : rows.slice(-MAX_ROWS))));
  const earlier = whole
    ? null
    : button(t('log.earlier', { n: rows.length - MAX_ROWS }), {
        tone: 'wide quiet',
        onclick: async () => {
          unfolded.add(run.id);
          earlier?.remove();
          log.prepend(...(await draw(rows.slice(0, -MAX_ROWS))));
        }
      });
  return h(
    'div',
    { class: 'stack-s' },
    h('p', { class: 'field-help' }, sentences([t('log.column'), verdictText(survey.figures.instruments)])),
    elsewhere ? h('p', { class: 'log-found' }, icon('alert'), t('log.not_whole_elsewhere')) : null,
    earlier,
    log
  );
}

/**
 * The end of the run, where it stands on the run and not as an observation too.
 * @param {App} app
 * @param {JobView} view
 * @param {import('../../records/types.js').RunRecord} run
 * @param {Survey} survey
 * @returns {Row[]}
 */
function endRow(app, view, run, survey) {
  const { end_counter_m: endM, end_reason: reason } = run.fields;
  if (typeof endM !== 'number' || !reason || recordedEnd(survey.observations)) return [];
  const place = survey.figures.run.end_counter_m;
  return [
    row(
      'run',
      { ...run, fields: { ...run.fields, counter_m: endM } },
      place,
      t('run.end'),
      valueWords(app, view, 'run', 'end_reason', reason)
    )
  ];
}

/** @template {{record_id: string}} T @param {T[]} findings @returns {Map<string, T[]>} */
function byRecord(findings) {
  /** @type {Map<string, T[]>} */
  const found = new Map();
  for (const one of findings) {
    const list = found.get(one.record_id);
    if (list) list.push(one);
    else found.set(one.record_id, [one]);
  }
  return found;
}

/**
 * @param {Kind} kind
 * @param {Placed} record
 * @param {number | null | undefined} place
 * @param {Node | string} title
 * @param {string} under
 * @returns {Row}
 */
function row(kind, record, place, title, under) {
  return { kind, record, place: place ?? Infinity, title, under };
}

/**
 * @param {App} app @param {Array<{words: string}>} found @param {Row} one
 * @param {Array<{fields: import('../../records/types.js').PhotoFields}>} thumbs @param {string} href
 */
async function logRow(app, found, one, thumbs, href) {
  const conflicts = Object.keys(one.record.conflicts ?? {}).length;
  const shown = shownM(one.record.fields, one.kind === 'stretch' ? 'from_counter_m' : 'counter_m');
  const place = shown === null ? '—' : fixed(shown, 2);
  const pictures = [];
  for (const photo of thumbs.slice(0, 3)) pictures.push(await picture(app, photo));
  return h(
    'a',
    { class: `log-row ${one.kind}`, href, 'data-key': one.record.id },
    h('span', { class: 'log-place' }, place, h('span', { class: 'unseen' }, ' ', t('log.metres'))),
    h('span', { class: 'log-cable', 'aria-hidden': 'true' }),
    h(
      'span',
      { class: 'log-text' },
      h('span', { class: 'log-title' }, one.title),
      one.under ? h('span', { class: 'log-under' }, keepUnits(one.under)) : null,
      ...found.map((finding) => h('span', { class: 'log-found' }, icon('alert'), keepUnits(finding.words))),
      conflicts ? h('span', { class: 'log-found' }, icon('branch'), t('log.conflict')) : null,
      pictures.length ? h('span', { class: 'log-thumbs' }, ...pictures) : null
    )
  );
}

/** @param {import('../../records/types.js').ReadingRecord} reading */
function readingTitle(reading) {
  const value = reading.fields.inclination;
  return h('span', null, icon(inclinationIcon(value)), value ? meaningParts(value)[0] : t('incl.none'));
}

/** @param {import('../../records/types.js').ReadingRecord} reading */
function readingUnder(reading) {
  const value = reading.fields.inclination;
  const rest = value ? listed(meaningParts(value).slice(1)) : '';
  const reset = reading.fields.counter_reset;
  const resetWords = reset
    ? t('reset.in_log', { had: metres(reset.had_shown_m), set: metres(reset.set_to_m) })
    : '';
  return apart([resetWords, rest, inFile(reading.fields), reading.fields.remark]);
}

/**
 * How it was measured, and what the readings make of it.
 * @param {App} app
 * @param {JobView} view
 * @param {import('../../figures/run_figures.js').RunFigures} figures
 * @param {import('../../records/types.js').LevelTieRecord} tie
 */
function tieUnder(app, view, figures, tie) {
  const place = figures.model?.tie_ids.indexOf(tie.id) ?? -1;
  const { method } = tie.fields;
  const how = method ? valueWords(app, view, 'level_tie', 'method', method) : t('log.tie_method_none');
  return place < 0 || !figures.profile
    ? how
    : apart([how, t('log.tie_adjusted', { m: adjustedText(figures, place) })]);
}

/** @param {App} app @param {JobView} view @param {StretchRecord} stretch */
function stretchTitle(app, view, stretch) {
  const f = stretch.fields;
  const size = f.height_mm
    ? f.width_mm
      ? t('size.two_mm', { height: f.height_mm, width: f.width_mm })
      : t('size.mm', { size: f.height_mm })
    : t('stretch.size_unknown');
  return listed([
    valueWords(app, view, 'stretch', 'shape', f.shape),
    keepUnits(size),
    valueWords(app, view, 'stretch', 'material', f.material)
  ]);
}

/**
 * @param {App} app
 * @param {JobView} view
 * @param {StretchRecord} stretch
 * @param {StretchRecord[]} closed the stretches with the ends that follow
 */
function stretchUnder(app, view, stretch, closed) {
  const f = stretch.fields;
  const ended = closed.find((one) => one.id === stretch.id)?.fields ?? f;
  const to =
    typeof f.to_counter_m === 'number'
      ? t('stretch.to', { m: metres(shownM(f, 'to_counter_m') ?? NaN) })
      : ended.to_known
        ? t(`stretch.to_${ended.to_known}`, {
            m: metres(/** @type {number} */ (ended.to_counter_m))
          })
        : t('stretch.to_open');
  const known = f.size_known
    ? t('stretch.size_known', { how: valueWords(app, view, 'stretch', 'size_known', f.size_known) })
    : '';
  return apart([to, known, f.remark]);
}
