/** What the office took out of a job, and until when it can bring it back. */
import { h } from '../../ui/elements.js';
import { note } from '../../ui/page.js';
import { countOf } from '../../records/erasure.js';
import { t } from '../../text/words.js';
import { day } from '../../ui/format.js';

/** @param {import('../../ui/types.js').JobView} view @returns {HTMLElement[]} */
export function erasedNotes({ acts }) {
  return acts
    .filter((act) => act.state !== 'undone')
    .map((act) =>
      note(
        'notice',
        h(
          'p',
          null,
          t('erasure.took', { n: countOf(act), day: day(act.at.slice(0, 10)), reason: act.reason })
        ),
        h(
          'p',
          { class: 'soft' },
          act.state === 'expunged' ? t('erasure.expunged') : t('erasure.quarantined', { day: day(act.until) })
        )
      )
    );
}
