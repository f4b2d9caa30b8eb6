/**
 * Hazards to people, and what the camera could see: on the log and on the condition screen, before all else.
 */
import { h } from '../../ui/elements.js';
import { note } from '../../ui/page.js';
import { findCode } from '../../survey/coding/codes.js';
import { ERASED } from '../../survey/coding/hidden_spans.js';
import { atOf } from '../parts/condition_parts.js';
import { hazardLine, partLine, seenLine } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { filled, keepUnits, listed, phrases } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../ui/types.js').App} App */

const DEFECTS = ['fabric', 'operation'];

/**
 * @param {App} app
 * @param {Figures} figures
 * @param {import('../parts/condition_parts.js').At} at of the run
 */
export function hazardNote(app, figures, at) {
  const { rows } = app.tables.hazards;
  if (figures.hazards.length === 0) return null;
  const place = (/** @type {number | null} */ counterM) =>
    counterM === null ? null : figures.placeOf(counterM);
  const lines = figures.hazards.map((one) =>
    h(
      'li',
      null,
      ...filled('sight.caution', {
        hazard: h(
          'a',
          { href: `${atOf(at, one.record_id)}/observations/${one.record_id}` },
          h(
            'strong',
            null,
            keepUnits(
              hazardLine(rows[one.row].label, place(one.from_counter_m), place(one.to_counter_m), one.sure)
            )
          )
        ),
        caution: rows[one.row].caution
      })
    )
  );
  return h(
    'div',
    { 'data-figure': 'hazards' },
    note('fault', h('strong', null, t('sight.hazards')), h('ul', { class: 'stack-s graded' }, ...lines))
  );
}

/** Nothing where all of it was seen. @param {App} app @param {Figures} figures */
export function sightNote(app, figures) {
  const account = figures.visibility;
  if (
    !account ||
    (account.looked && account.total_m !== null && account.parts.every((part) => part.sight === 'clear'))
  )
    return null;
  // the survey has only begun
  if (figures.records.observations.length === 0 && !figures.run.end_reason) return null;
  const hidden = account.parts.filter((part) => part.sight !== 'clear');
  return h(
    'div',
    { 'data-figure': 'sight' },
    note(
      'notice',
      h('strong', null, t('sight.title')),
      h('p', null, keepUnits(seenLine(account, defectCount(app, figures)))),
      account.looked && hidden.length
        ? h(
            'ul',
            { class: 'stack-s graded' },
            ...hidden.map((part) =>
              h(
                'li',
                null,
                keepUnits(
                  partLine(
                    part,
                    figures.placeOf(part.from_counter_m),
                    figures.placeOf(part.to_counter_m),
                    whyWords(app, figures, part)
                  )
                )
              )
            )
          )
        : null
    )
  );
}

/** How many defects were recorded. @param {App} app @param {Figures} figures */
export function defectCount(app, figures) {
  const groups = figures.records.observations.map(
    (one) => findCode(app.tables.observation_codes.rows, one.fields.code ?? '')?.group
  );
  return groups.filter((group) => DEFECTS.includes(group ?? '')).length;
}

/**
 * The titles of the records that hide a length, with their kind.
 * @param {App} app
 * @param {Figures} figures
 * @param {import('../../survey/coding/visibility.js').VisiblePart} part
 */
export function whyWords(app, figures, part) {
  const words = part.record_ids.map((id) => {
    if (id.startsWith(ERASED)) return t('survey.sight.erased');
    const fields = figures.records.observations.find((one) => one.id === id)?.fields ?? {};
    const row = findCode(app.tables.observation_codes.rows, fields.code ?? '');
    const kind = row?.characterisation_1.find((letter) => letter.value === fields.characterisation_1)?.label;
    return t('sight.what', { what: listed([row?.title ?? fields.code, kind]) });
  });
  return words.length ? phrases([...new Set(words)]) : t('sight.end_disputed');
}
