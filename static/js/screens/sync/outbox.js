/** What is on this phone and not on the server, and what the server set aside, with its reasons. */
import { h } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { atMostEvery, live } from '../../ui/live.js';
import { statusReason, statusWords } from '../../ui/status_chip.js';
import { apart, bytesText, when } from '../../ui/format.js';
import { entryWords } from './entry_words.js';
import { rejectedCards } from './rejected_cards.js';
import { syncLog } from './sync_log.js';
import { erasedNotes } from '../parts/erased_note.js';
import { t } from '../../text/words.js';
import { faultWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').Params} Params */
/** @typedef {import('../../ui/types.js').Entry} Entry */
/** @typedef {import('../../store/outbox.js').OutboxEntry} OutboxEntry */
/** @typedef {import('../../store/outbox.js').OutboxPhoto} OutboxPhoto */

const SHOWN = 12;
const REDRAW_MS = 250;

/** @param {import('../../ui/page.js').Page} page @param {Params} _params @param {App} app */
export async function mount(page, _params, app) {
  const line = h('p', { role: 'status', class: 'soft' });
  page.head({ title: t('outbox.title'), eyebrow: t('app.name'), back: '/' });
  page.bar(
    button(t('outbox.sync_now'), { tone: 'main-act action', icon: 'send', onclick: () => void syncNow() })
  );
  const syncNow = async () => {
    line.textContent = t('status.sending');
    const result = await app.sync.run({ by: 'button' });
    line.textContent = resultWords(result);
    await draw();
  };
  const draw = async () => {
    const out = await app.store.outbox();
    const status = app.sync.status;
    const reason = statusReason(status);
    const aside = out.entries.filter((one) => one.state === 'set_aside');
    const unsent = out.entries.filter((one) => one.state === 'unsent');
    page.body(
      h(
        'div',
        { class: 'card' },
        h('p', { class: 'outbox-state num' }, statusWords(status, app.store.isLost)),
        reason ? h('p', null, reason) : null,
        status.last_code?.startsWith('access_')
          ? button(t('access.connect'), { href: '/join', tone: 'wide' })
          : null,
        status.counting
          ? null
          : h(
              'p',
              { class: 'soft' },
              status.last_ok_at ? t('outbox.last', { when: when(status.last_ok_at) }) : t('outbox.never')
            ),
        status.progress?.bytes_total
          ? h(
              'p',
              { class: 'num' },
              t('sync.photo_bytes', {
                done: bytesText(status.progress.bytes_done),
                total: bytesText(status.progress.bytes_total)
              })
            )
          : null,
        status.photos_wait && status.photos_unsent ? h('p', null, t('sync.photos_wait')) : null,
        status.progress?.total
          ? h('progress', {
              max: status.progress.total,
              value: status.progress.done,
              'aria-label': t('status.sending')
            })
          : null,
        line
      ),
      aside.length
        ? section(
            t('outbox.aside'),
            h('p', { class: 'soft' }, t('outbox.aside_why')),
            ...(await rejectedCards(app, aside))
          )
        : null,
      ...(await erasedJobs(app)),
      unsent.length || out.photos.length
        ? await waiting(app, unsent, out.photos)
        : app.store.isLost
          ? null
          : h('p', null, t(status.last_ok_at ? 'outbox.empty' : 'outbox.nothing')),
      note('plain', t('outbox.keeps')),
      await syncLog(app, page.main.querySelector('.sync-log[open]') !== null)
    );
  };
  const stop = await live(app, null, draw);
  let gone = false;
  const redraw = atMostEvery(() => {
    if (!gone) void draw();
  }, REDRAW_MS);
  app.sync.events.addEventListener('status', redraw);
  return () => {
    gone = true;
    stop();
    app.sync.events.removeEventListener('status', redraw);
  };
}

/** @param {Partial<import('../../sync/engine.js').RunResult> | undefined} result @returns {string} */
function resultWords(result) {
  switch (result?.state) {
    case 'sent':
      return t('outbox.result', {
        sent: result.sent ?? 0,
        received: result.received ?? 0,
        photos: result.photos ?? 0
      });
    case 'busy':
      return t('outbox.busy');
    case 'offline':
      return t('outbox.offline');
    default:
      return result ? faultWords(result.code ?? '', result.message) : t('status.not_reached');
  }
}

/** Jobs whose own record was erased: no list shows them. @param {App} app @returns {Promise<HTMLElement[]>} */
async function erasedJobs(app) {
  const found = [];
  for (const jobId of await app.store.known()) {
    const view = await app.store.job(jobId);
    if (view.job || view.acts.length === 0) continue;
    const since = view.handedOver().filter((entry) => !entry.erased).length;
    found.push(
      section(
        t('erasure.job'),
        ...erasedNotes(view),
        since
          ? h(
              'p',
              null,
              t('erasure.since', { n: since }),
              ' ',
              h('a', { href: `/jobs/${jobId}/handover` }, t('handover.title'))
            )
          : null
      )
    );
  }
  return found;
}

/** @param {App} app @param {OutboxEntry[]} unsent @param {OutboxPhoto[]} photos */
async function waiting(app, unsent, photos) {
  /** @type {Map<string, {entries: Entry[], photos: OutboxPhoto[]}>} */
  const jobs = new Map();
  const of = (/** @type {string} */ id) => jobs.get(id) ?? jobs.set(id, { entries: [], photos: [] }).get(id);
  for (const one of unsent) of(one.entry.job_id)?.entries.push(one.entry);
  for (const one of photos) of(one.job_id)?.photos.push(one);
  const parts = [];
  for (const [jobId, waits] of jobs) {
    const view = await app.store.job(jobId);
    const names = waits.entries
      .slice(-SHOWN)
      .reverse()
      .map((entry) => h('li', null, entryWords(app, view, entry)));
    const bytes = waits.photos.reduce((sum, one) => sum + one.size_bytes, 0);
    parts.push(
      h(
        'div',
        { class: 'card' },
        h('h3', null, h('a', { href: `/jobs/${jobId}` }, view.job?.fields.title ?? t('jobs.untitled'))),
        h(
          'p',
          { class: 'num' },
          apart([
            waits.entries.length > 0 && t('outbox.changes', { n: waits.entries.length }),
            waits.photos.length > 0 && t('outbox.photos', { n: waits.photos.length, size: bytesText(bytes) })
          ])
        ),
        names.length
          ? h(
              'details',
              null,
              h('summary', null, t('outbox.latest', { n: names.length })),
              h('ul', { class: 'plain-list' }, ...names)
            )
          : null
      )
    );
  }
  return section(t('outbox.waiting'), ...parts);
}
