/** The line that is left of a job that was put away, and the way back. */
import { h, refill } from '../../ui/elements.js';
import { day } from '../../ui/format.js';
import { jobTaker } from './job_take.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../store/away_rows.js').AwayLine} AwayLine */

/**
 * A card each, the same one at every drawing: what has come of a tap stays on it.
 * @param {App} app @returns {(line: AwayLine) => HTMLElement}
 */
export function awayCards(app) {
  /** @type {Map<string, {element: HTMLElement, taker: ReturnType<typeof jobTaker>}>} */
  const cards = new Map();
  return ({ job_id: jobId, title, at, coming }) => {
    const name = title === null ? t('jobs.away_unlisted') : title || t('jobs.untitled');
    const card = cards.get(jobId) ?? {
      element: h('section', { class: 'card' }),
      taker: jobTaker(app, jobId, t('jobs.bring_back'))
    };
    cards.set(jobId, card);
    card.element.setAttribute('aria-label', name);
    refill(
      card.element,
      h(
        'div',
        null,
        h('h3', null, name),
        h(
          'p',
          { class: 'soft' },
          coming ? t('jobs.away_coming') : t('jobs.away_line', { when: day(at.slice(0, 10)) })
        )
      ),
      card.taker.key,
      card.taker.status
    );
    return card.element;
  };
}
