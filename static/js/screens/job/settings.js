/** Night colours, room on the phone, the version, and the way out as a file. */
import { h } from '../../ui/elements.js';
import { button, linkRow, note, section } from '../../ui/page.js';
import { bytesText } from '../../ui/format.js';
import { updateCard } from '../../ui/cards.js';
import { keptCard } from '../../ui/kept_card.js';
import { saveToFile } from '../../files/handover_out.js';
import { segments } from '../../forms/fields/field_frame.js';
import { textControl } from '../../forms/fields/fields_plain.js';
import { accessSection } from './access_state.js';
import { jobRoomCards } from './job_rooms.js';
import { linkKind } from '../../sync/metered.js';
import { t } from '../../text/words.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').Params} Params */

/** @param {import('../../ui/page.js').Page} page @param {Params} _params @param {App} app */
export async function mount(page, _params, app) {
  page.head({ title: t('settings.title'), eyebrow: t('app.name'), back: '/' });
  const surveyor = textControl(
    {
      name: 'surveyor',
      label: t('settings.surveyor'),
      type: 'text',
      longest: 80,
      help: t('settings.surveyor_help')
    },
    () => {
      void app.store.setSetting('surveyor', surveyor.read().value ?? '');
    }
  );
  surveyor.setValue(await app.store.setting('surveyor'));
  const colours = segments(
    t('settings.colours'),
    [
      { value: 'day', label: t('settings.day') },
      { value: 'night', label: t('settings.night') }
    ],
    (value) => void setNight(value === 'night')
  );
  const setNight = async (/** @type {boolean} */ on) => {
    document.documentElement.classList.toggle('night', on);
    colours.show(on ? 'night' : 'day');
    await app.store.setSetting('night', on);
  };
  colours.show((await app.store.setting('night')) === true ? 'night' : 'day');
  const place = h('div', null);
  const rooms = (await jobRoomCards(app)) ?? '';
  const draw = async () => {
    place.replaceChildren(await storage(app), rooms, await files(app));
    const card = updateCard(app, draw);
    if (card) place.prepend(card);
  };
  await draw();
  const kept = keptCard(app, { whole: true });
  const server = accessSection(app);
  void server.draw();
  page.body(
    section(t('settings.colours'), h('p', { class: 'soft' }, t('settings.colours_why')), colours.element),
    h('section', { class: 'section' }, surveyor.element),
    await metered(app),
    section(t('kept.title'), kept.element),
    server.element,
    place,
    section(
      t('settings.about'),
      linkRow('/handbook', 'sheet', t('settings.handbook'), t('settings.handbook_under')),
      h('p', null, t('settings.about_words')),
      h('p', { class: 'soft' }, t('settings.device', { id: app.store.deviceId }))
    )
  );
  return kept.stop;
}

/** @param {App} app */
async function metered(app) {
  const options = [
    { value: 'send', label: t('settings.metered_send') },
    { value: 'wait', label: t('settings.metered_wait') }
  ];
  const keys = segments(t('settings.metered'), options, (value) => {
    keys.show(value);
    void app.store.setSetting('photos_metered', value);
  });
  keys.show((await app.store.setting('photos_metered')) ?? 'send');
  return section(
    t('settings.metered'),
    h('p', { class: 'soft' }, t('settings.metered_why')),
    keys.element,
    linkKind() === 'unknown' ? h('p', { class: 'soft' }, t('settings.metered_unknown')) : null
  );
}

/** @param {App} app */
async function storage(app) {
  const state = await app.storage.state();
  const status = h('p', { role: 'status' });
  const keep = async () => {
    const granted = await navigator.storage?.persist?.().catch(() => false);
    status.textContent = t(granted ? 'settings.persist_yes' : 'settings.persist_no');
  };
  return section(
    t('settings.room'),
    state.known
      ? h(
          'p',
          { class: 'num' },
          t('settings.used', {
            used: bytesText(state.used_bytes),
            free: bytesText(state.quota_bytes - state.used_bytes)
          })
        )
      : h('p', null, t('settings.room_unknown')),
    state.known
      ? h('progress', {
          max: 100,
          value: Math.min(100, (100 * state.used_bytes) / state.quota_bytes),
          'aria-label': t('settings.room')
        })
      : null,
    state.low ? note('notice', t('settings.low')) : null,
    h('p', null, t(state.persisted ? 'settings.persisted' : 'settings.not_persisted')),
    state.persisted ? null : button(t('settings.persist'), { onclick: () => void keep() }),
    status
  );
}

/** @param {App} app */
async function files(app) {
  const status = h('p', { role: 'status', class: 'soft' });
  const lines = await app.store.jobs();
  const one = (/** @type {import('../../store/job_lines.js').JobLine} */ line) =>
    button(line.record.fields.title || t('jobs.untitled'), {
      icon: 'download',
      tone: 'wide',
      key: line.job_id,
      onclick: async () => {
        try {
          status.textContent = t('failure.file_made', { name: await saveToFile(app, line.job_id) });
        } catch (error) {
          status.textContent = t('failure.file_failed', { why: errorWords(error) });
        }
      }
    });
  return section(
    t('settings.files'),
    h('p', { class: 'soft' }, t('settings.files_why')),
    lines.length ? h('div', { class: 'stack-s' }, ...lines.map(one)) : h('p', null, t('settings.no_jobs')),
    status
  );
}
