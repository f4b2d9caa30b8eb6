/** What each job takes on this phone, its photos that can be let go, and the way to put it away. */
import { h, refill } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { bytesText, keepUnits } from '../../ui/format.js';
import { errorWords } from '../../ui/error_words.js';
import { jobRooms, letPhotosGo } from '../../sync/photo_let_go.js';
import { putAwayKey } from './put_away.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../store/job_room.js').JobRoom} JobRoom */

/**
 * @param {App} app
 * @returns {Promise<HTMLElement | null>} null where there is no job
 */
export async function jobRoomCards(app) {
  const rooms = await jobRooms(app.store);
  if (rooms.length === 0) return null;
  const why = h('p', { class: 'soft' }, t('room.why'));
  const away = h('p', { class: 'soft' }, t('room.away_why'));
  return section(t('room.title'), why, away, ...rooms.map((room) => card(app, room)));
}

/**
 * @param {App} app @param {JobRoom} room @param {HTMLElement} [status] what has just come of it
 * @returns {HTMLElement}
 */
function card(app, room, status = h('p', { role: 'status' })) {
  const title = room.title || t('jobs.untitled');
  const size = bytesText(room.spare_bytes);
  const key = button(keepUnits(t('room.let_go', { n: room.spare.length, size })), {
    key: `let-go-${room.job_id}`,
    onclick: () => void letGo()
  });
  const letGo = async () => {
    key.remove(); // the card is drawn anew when it is over
    const report = (/** @type {number} */ done, /** @type {number} */ total) =>
      refill(status, t('room.asking', { done, n: total }));
    try {
      const { store, sync } = app;
      const { gone, bytes, unproved } = await letPhotosGo(
        { store, transport: sync.transport, report },
        room.job_id
      );
      refill(
        status,
        gone ? h('span', null, t('room.gone', { n: gone, size: bytesText(bytes) })) : null,
        unproved ? h('span', null, t('room.unproved', { n: unproved })) : null
      );
    } catch (error) {
      refill(status, errorWords(error));
    }
    const now = (await jobRooms(app.store)).find((one) => one.job_id === room.job_id);
    if (now) element.replaceWith(card(app, now, status));
  };
  const element = h(
    'section',
    { class: 'card stack-s', 'aria-label': title },
    h('h3', null, title),
    h('p', { class: 'num' }, t('room.entries', { n: room.entries, size: bytesText(room.entry_bytes) })),
    room.photos
      ? h('p', { class: 'num' }, t('room.photos', { n: room.photos, size: bytesText(room.photo_bytes) }))
      : null,
    room.spare.length ? key : room.photos ? h('p', { class: 'soft' }, t('room.none')) : null,
    putAwayKey(app, room, status, () =>
      element.replaceWith(h('p', { role: 'status', class: 'card' }, t('room.put_away_done', { title })))
    ),
    status
  );
  return element;
}
