/**
 * On the log of a run: the way to the whole length that it is part of, or to survey it from the other end.
 */
import { h } from '../../ui/elements.js';
import { button, linkRow } from '../../ui/page.js';
import { endedShort } from '../../forms/next_run.js';
import { refsOf, runsOfLength, wholeLengthOf } from '../parts/figures_of.js';
import { placeText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/**
 * @param {App} app
 * @param {HeldJob} view
 * @param {RecordOf<'run'>} run
 * @param {import('../../figures/run_figures.js').RunFigures} figures
 */
export function nextPart(app, view, run, figures) {
  const at = `/jobs/${view.jobId}/runs/${run.id}`;
  const runs = runsOfLength(view, run.id);
  const whole = runs.length ? wholeLengthOf(app, view, runs) : null;
  const met = whole?.pieces.some((piece) => piece.turned) ?? false;
  return h(
    'div',
    { class: 'stack-s', 'data-figure': 'onward' },
    whole
      ? h(
          'div',
          { class: 'rows' },
          linkRow(`${at}/length`, 'stretch', t('length.row', { refs: refsOf(runs) }), under(whole))
        )
      : null,
    !met && endedShort(figures.run) ? offer(view.jobId, run.id) : null
  );
}

/** @param {import('../../survey/lengths/length_of_runs.js').WholeLength} whole */
function under({ join, visibility }) {
  if (join.length_m === null || !visibility) return t('length.unknown');
  const { clear_m: clear, part_m: part, hidden_m: hidden } = visibility;
  return t('length.seen', {
    seen: placeText((clear ?? 0) + (part ?? 0)),
    total: placeText(join.length_m),
    unseen: placeText(hidden ?? 0)
  });
}

/** @param {string} jobId @param {string} runId */
function offer(jobId, runId) {
  const to = (/** @type {string} */ end) => `/jobs/${jobId}/runs/new?continues=${runId}&end=${end}`;
  return h(
    'div',
    { class: 'stack-s' },
    h('p', { class: 'soft small' }, t('onward.offer')),
    button(t('onward.other'), { tone: 'wide action', icon: 'branch', href: to('other') }),
    button(t('onward.same'), { tone: 'wide quiet', icon: 'on', href: to('same') })
  );
}
