/** The way from the log of a run to what is open before leaving. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { openSoFar } from './count_later.js';
import { concerning } from './leave_state.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */

/**
 * On the log of a run: how much is open that cannot be mended later.
 * @param {App} app
 * @param {HeldJob} view
 * @param {string} runId
 */
export function leaveChip(app, view, runId) {
  const open = openSoFar(app, view);
  const n = open ? concerning(open, runId).filter((one) => one.severity === 'site').length : 0;
  const words = n === 0 ? t(open ? 'leave.title' : 'leave.chip_counting') : t('leave.chip', { n });
  return h(
    'a',
    {
      class: `leave-chip ${n ? 'some' : ''}`,
      href: `/jobs/${view.jobId}/leave?run=${runId}`,
      'data-key': 'leave'
    },
    icon(n ? 'alert' : 'end'),
    h('span', null, words),
    icon('on', 'row-on')
  );
}
