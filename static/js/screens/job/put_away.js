/** Putting a whole job away: asked twice, and told why where it stays. */
import { h, refill } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { bytesText, sentences } from '../../ui/format.js';
import { errorWords } from '../../ui/error_words.js';
import { once } from '../../forms/failure.js';
import { putAway } from '../../sync/put_away.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../store/job_room.js').JobRoom} JobRoom */
/** @typedef {import('../../sync/put_away.js').Obstacle} Obstacle */

/**
 * @param {App} app @param {JobRoom} room @param {HTMLElement} status @param {() => void} away when it is done
 * @returns {HTMLElement}
 */
export function putAwayKey(app, room, status, away) {
  const place = h('div', { class: 'stack-s' });
  const ask = () =>
    refill(
      place,
      button(t('room.put_away', { size: bytesText(room.whole_bytes) }), {
        key: `put-away-${room.job_id}`,
        onclick: sure
      })
    );
  const sure = () =>
    refill(
      place,
      h('p', null, t('room.put_away_sure')),
      h(
        'div',
        { class: 'keys' },
        button(t('room.put_away_yes'), { tone: 'main-act', onclick: go }),
        button(t('room.put_away_no'), { onclick: ask })
      )
    );
  const go = once(async () => {
    refill(place);
    refill(status, t('room.put_away_asking'));
    const why = await attempt(app, room.job_id, status).catch((error) => [errorWords(error)]);
    if (why.length === 0) return away();
    refill(status, sentences([t('room.stays'), ...why]));
    return ask();
  });
  ask();
  return place;
}

/** @param {App} app @param {string} jobId @param {HTMLElement} status @returns {Promise<string[]>} why it stays */
async function attempt(app, jobId, status) {
  const { store, sync, now } = app;
  await sync.run({ by: 'button' }); // what is left goes first; whether it went is seen from what is left
  const report = (/** @type {number} */ done, /** @type {number} */ total) =>
    refill(status, t('room.asking', { done, n: total }));
  return (await putAway({ store, transport: sync.transport, now, report }, jobId)).map(words);
}

/** @param {Obstacle} one */
function words({ why, n }) {
  return t(`room.stays.${why}`, { n });
}
