/** What two runs of a length saw: marked as the same, it counts once and joins their chainages. */
import { h } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { listed, metres } from '../../ui/format.js';
import { insist } from '../../forms/failure.js';
import { shownM } from '../../survey/instruments/counter_resets.js';
import { observationWords } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../survey/lengths/length_of_runs.js').WholeLength} WholeLength */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */
/** @typedef {import('../../records/types.js').RunRecord} RunRecord */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/**
 * @param {App} app
 * @param {JobView} view
 * @param {string} jobId
 * @param {RunRecord[]} runs
 * @param {WholeLength} whole
 */
export function sameSection(app, view, jobId, runs, whole) {
  const seen = whole.pieces.map((piece) =>
    piece.run.observations.filter((one) => (one.fields.counter_m ?? null) !== null)
  );
  if (seen.filter((some) => some.length).length < 2) return null;
  const mark = (/** @type {RecordOf<'observation'>} */ record, /** @type {string | null} */ other) =>
    insist(app, { what: t('what.observation'), jobId }, async () => {
      await app.store.save(jobId, 'observation', record.id, { same_as: other }, record.standing);
      return true;
    });
  const refOf = (/** @type {string} */ id) =>
    runs[seen.findIndex((some) => some.some((one) => one.id === id))]?.fields.run_ref ?? '?';
  const pair = (/** @type {ObservationRecord} */ one, /** @type {ObservationRecord} */ two) =>
    t('length.perhaps', {
      what: observationWords(app, one).title,
      a: refOf(one.id),
      x: metres(shownM(one.fields, 'counter_m') ?? NaN),
      b: refOf(two.id),
      y: metres(shownM(two.fields, 'counter_m') ?? NaN)
    });
  const record = (/** @type {string | null | undefined} */ id) =>
    /** @type {RecordOf<'observation'>} */ (view.record('observation', id));
  const perhaps = whole.perhaps.map(([a, b]) =>
    row(pair(record(a), record(b)), t('length.mark'), () => mark(record(b), a))
  );
  const marked = seen
    .flat()
    .map((one) => record(one.id))
    .filter((one) => one && seen.flat().some((other) => other.id === one.fields.same_as))
    .map((one) => row(pair(record(one.fields.same_as), one), t('length.unmark'), () => mark(one, null)));
  return h(
    'div',
    { 'data-figure': 'same' },
    section(
      t('length.same'),
      h('p', { class: 'field-help' }, t('length.same_why')),
      ...perhaps,
      ...(marked.length ? [h('h3', null, t('length.marked')), ...marked] : []),
      picker(app, runs, seen, record, mark)
    )
  );
}

/** @param {string} words @param {string} label @param {() => unknown} act */
function row(words, label, act) {
  return h(
    'div',
    { class: 'figure-card same-pair' },
    h('p', null, words),
    button(label, { tone: 'wide', onclick: () => void act() })
  );
}

/**
 * Any two observations of two runs.
 * @param {App} app
 * @param {RunRecord[]} runs
 * @param {ObservationRecord[][]} seen
 * @param {(id: string) => RecordOf<'observation'>} record
 * @param {(record: RecordOf<'observation'>, other: string | null) => Promise<unknown>} mark
 */
function picker(app, runs, seen, record, mark) {
  const selects = [0, 1].map((k) => {
    const from = k === 0 ? [0] : seen.map((_, n) => n).slice(1);
    const options = from.flatMap((n) =>
      seen[n].map((one) =>
        h(
          'option',
          { value: one.id },
          `${metres(shownM(one.fields, 'counter_m') ?? NaN)}  ${observationWords(app, one).title}`
        )
      )
    );
    return h(
      'select',
      { class: 'input', 'aria-label': pickLabel(runs, from) },
      h('option', { value: '' }, t('length.pick_one')),
      ...options
    );
  });
  const act = () => {
    const [one, two] = selects.map((select) => select.value);
    if (one && two) void mark(record(two), one);
  };
  return h(
    'details',
    null,
    h('summary', null, t('length.same')),
    h(
      'div',
      { class: 'stack-s' },
      ...selects.map((select, k) =>
        h(
          'div',
          { class: 'field' },
          h(
            'span',
            { class: 'field-label' },
            pickLabel(runs, k === 0 ? [0] : runs.map((_, n) => n).slice(1))
          ),
          select
        )
      ),
      button(t('length.mark'), { tone: 'wide', onclick: act, key: 'mark the same' })
    )
  );
}

/** @param {RunRecord[]} runs @param {number[]} which */
function pickLabel(runs, which) {
  return t('length.pick', { ref: listed(which.map((n) => runs[n].fields.run_ref ?? '?')) });
}
