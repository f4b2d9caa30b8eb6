/** The jobs on this phone, and those on the server that could be taken onto it. */
import { h, append } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { button, linkRow, note, section } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { firstRunCard, updateCard } from '../../ui/cards.js';
import { keptCard } from '../../ui/kept_card.js';
import { handOverTaker } from './handover_take.js';
import { awayCards } from './away_cards.js';
import { jobTaker } from './job_take.js';
import { photosCard } from '../parts/photos_here.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../store/job_lines.js').JobLine} JobLine */
/** @typedef {import('../../ui/types.js').Params} Params */

/** @param {import('../../ui/page.js').Page} page @param {Params} _params @param {App} app */
export async function mount(page, _params, app) {
  page.head({
    title: t('jobs.title'),
    eyebrow: t('app.name'),
    aside: h(
      'a',
      { class: 'button quiet', href: '/settings' },
      icon('settings'),
      h('span', null, t('settings.title'))
    )
  });
  page.bar(button(t('jobs.new'), { tone: 'main-act action', icon: 'add', href: '/jobs/new' }));
  /** @type {Array<{job_id: string, title: string, site: string}>} */
  let others = [];
  const taker = handOverTaker(app);
  const kept = keptCard(app);
  const away = awayCards(app);
  /** @type {Map<string, ReturnType<typeof photosCard>>} */
  const asking = new Map();
  const photosOf = async (/** @type {JobLine} */ { job_id: jobId, record }) => {
    const card =
      asking.get(jobId) ?? photosCard(app, jobId, { title: record.fields.title || t('jobs.untitled') });
    asking.set(jobId, card);
    await card.show();
    return card.element;
  };
  const draw = async () => {
    const lines = await app.store.jobs();
    const here = lines.filter((line) => !line.record.removed);
    const gone = await app.store.away();
    const known = new Set([...lines, ...gone].map((line) => line.job_id));
    const elsewhere = others.filter((one) => !known.has(one.job_id));
    page.body(
      kept.element,
      updateCard(app, draw),
      app.storage?.low
        ? note('notice', t('settings.low'), h('a', { href: '/settings' }, t('handover.all')))
        : null,
      ...(await Promise.all(here.filter((line) => line.photos_here < line.photos).map(photosOf))),
      here.length
        ? h('div', { class: 'rows' }, ...here.map((line) => jobRow(line, app.store.isLost)))
        : emptyState(),
      await firstRunCard(app, draw), // it comes late: what stands above it stays where it is
      removedJobs(app, lines),
      gone.length ? section(t('jobs.away'), ...gone.map(away)) : null,
      elsewhere.length ? section(t('jobs.on_server'), ...elsewhere.map((one) => otherJob(app, one))) : null,
      taker
    );
  };
  const refreshOthers = async () => {
    if (app.sync.status.state === 'sending') return; // that is for the chip to show
    const now = await app.sync.others().catch(() => []);
    if (JSON.stringify(now) === JSON.stringify(others)) return;
    others = now;
    await draw();
  };
  const again = () => void draw();
  app.update?.events?.addEventListener('available', again); // first: it may come while the screen is drawn
  app.install?.events?.addEventListener('changed', again);
  app.storage?.events.addEventListener('changed', again);
  let { phase } = app.kept.state;
  const keptChanged = () => {
    if (app.kept.state.phase === phase) return;
    ({ phase } = app.kept.state);
    again();
  };
  app.kept.events.addEventListener('changed', keptChanged);
  const stop = await live(app, null, draw);
  void refreshOthers();
  app.sync.events.addEventListener('status', refreshOthers);
  return () => {
    stop();
    for (const card of asking.values()) card.stop();
    app.sync.events.removeEventListener('status', refreshOthers);
    app.update?.events?.removeEventListener('available', again);
    app.install?.events?.removeEventListener('changed', again);
    app.storage?.events.removeEventListener('changed', again);
    app.kept.events.removeEventListener('changed', keptChanged);
    kept.stop();
  };
}

/** @param {import('../../store/store.js').JobLine} line @param {boolean} isLost something, of whatever job */
function jobRow({ job_id: jobId, record, unsent, aside, conflicts, photos, photos_here: here }, isLost) {
  const under = h(
    'span',
    { class: 'stack-s' },
    h('span', { class: 'clamp' }, firstLine(record.fields.site) || t('jobs.no_site'))
  );
  const tags = h('span', { class: 'tags' });
  append(tags, [
    unsent ? h('span', { class: 'tag' }, t('status.to_send', { n: unsent })) : null,
    unsent || isLost ? null : h('span', { class: 'tag' }, t('status.all_sent')),
    here < photos ? h('span', { class: 'tag' }, t('photos_here.tag', { here, n: photos })) : null,
    conflicts ? h('span', { class: 'tag tag-notice' }, t('jobs.conflicts', { n: conflicts })) : null,
    aside ? h('span', { class: 'tag tag-fault' }, t('jobs.aside', { n: aside })) : null
  ]);
  under.append(tags);
  return linkRow(`/jobs/${jobId}`, '', record.fields.title || t('jobs.untitled'), under);
}

/** @param {string | null | undefined} text */
function firstLine(text) {
  return (text ?? '').split('\n')[0];
}

function emptyState() {
  const step = (/** @type {string} */ n, /** @type {string} */ title, /** @type {string} */ words) =>
    h(
      'li',
      null,
      h('span', { class: 'step-number', 'aria-hidden': 'true' }, n),
      h('div', null, h('h3', null, title), h('p', { class: 'soft' }, words))
    );
  return h(
    'div',
    { class: 'card' },
    h('h2', null, t('jobs.empty')),
    h(
      'ol',
      { class: 'steps' },
      step('1', t('jobs.step_1'), t('jobs.step_1_more')),
      step('2', t('jobs.step_2'), t('jobs.step_2_more')),
      step('3', t('jobs.step_3'), t('jobs.step_3_more'))
    )
  );
}

/** @param {App} app @param {JobLine[]} lines */
function removedJobs(app, lines) {
  const gone = lines.filter((line) => line.record.removed);
  if (gone.length === 0) return null;
  return h(
    'details',
    null,
    h('summary', null, t('jobs.removed', { n: gone.length })),
    h(
      'div',
      { class: 'stack-s' },
      ...gone.map((line) =>
        h(
          'div',
          { class: 'card spread' },
          h('span', null, line.record.fields.title || t('jobs.untitled')),
          button(t('removed.put_back'), {
            icon: 'undo',
            onclick: () => void app.store.restore(line.job_id, 'job', line.job_id)
          })
        )
      )
    )
  );
}

/** @param {App} app @param {{job_id: string, title: string, site: string}} one */
function otherJob(app, one) {
  const { key, status } = jobTaker(app, one.job_id);
  return h(
    'div',
    { class: 'card' },
    h(
      'div',
      null,
      h('h3', null, one.title || t('jobs.untitled')),
      one.site ? h('p', { class: 'soft' }, firstLine(one.site)) : null
    ),
    key,
    status
  );
}
