/** Path to screen. One line a screen; the first pattern that fits is taken. */
import { makePage, note } from './ui/page.js';
import { h } from './ui/elements.js';
import { closeSnack } from './ui/snack_bar.js';
import { t } from './text/words.js';
import * as jobs from './screens/job/jobs.js';
import * as jobForm from './screens/job/job_form.js';
import * as jobHome from './screens/job/job_home.js';
import * as safety from './screens/job/safety.js';
import * as checks from './screens/job/checks.js';
import * as checkForm from './screens/job/check_form.js';
import * as nodes from './screens/job/nodes.js';
import * as nodeForm from './screens/job/node_form.js';
import * as runForm from './screens/run/run_form.js';
import * as runLog from './screens/run/run_log.js';
import * as falls from './screens/figures/falls.js';
import * as trace from './screens/figures/trace.js';
import { keepPresses } from './ui/taps.js';
import { errorWords } from './ui/error_words.js';
import * as capacity from './screens/figures/capacity.js';
import * as condition from './screens/figures/condition.js';
import * as nextSteps from './screens/figures/next_steps.js';
import * as culvert from './screens/figures/culvert.js';
import * as wholeLength from './screens/figures/whole_length.js';
import * as reading from './screens/run/reading.js';
import * as observation from './screens/observation/observation.js';
import * as stretchChange from './screens/run/stretch_change.js';
import * as readingsFile from './screens/run/readings_file.js';
import * as partForm from './screens/run/part_form.js';
import * as photos from './screens/observation/photos.js';
import * as photoNew from './screens/observation/photo_new.js';
import * as photo from './screens/observation/photo.js';
import * as conflicts from './screens/sync/conflicts.js';
import * as removed from './screens/job/removed.js';
import * as remarks from './screens/job/remarks.js';
import * as leave from './screens/job/leave.js';
import * as handover from './screens/job/handover.js';
import * as pack from './screens/job/pack.js';
import * as outbox from './screens/sync/outbox.js';
import * as settings from './screens/job/settings.js';
import * as handbook from './screens/job/handbook.js';
import * as jobAway from './screens/job/job_away.js';
import * as officeAway from './screens/job/office_away.js';
import * as join from './screens/job/join.js';

/** @typedef {import('./ui/page.js').Page} Page */
/** @typedef {import('./ui/types.js').Params} Params */
/** @typedef {import('./ui/types.js').App} App */
/** @typedef {{mount: (page: Page, params: any, app: App) => Promise<void | (() => void)>}} Screen */

/** @type {Array<[string, Screen]>} */
const ROUTES = [
  ['/', jobs],
  ['/jobs/new', jobForm],
  ['/jobs/:job', jobHome],
  ['/jobs/:job/edit', jobForm],
  ['/jobs/:job/safety', safety],
  ['/jobs/:job/checks', checks],
  ['/jobs/:job/checks/:id', checkForm],
  ['/jobs/:job/nodes', nodes],
  ['/jobs/:job/nodes/:id', nodeForm],
  ['/jobs/:job/runs/new', runForm],
  ['/jobs/:job/runs/:run', runLog],
  ['/jobs/:job/runs/:run/edit', runForm],
  ['/jobs/:job/runs/:run/falls', falls],
  ['/jobs/:job/runs/:run/trace', trace],
  ['/jobs/:job/runs/:run/capacity', capacity],
  ['/jobs/:job/runs/:run/culvert', culvert],
  ['/jobs/:job/runs/:run/length', wholeLength],
  ['/jobs/:job/runs/:run/condition', condition],
  ['/jobs/:job/runs/:run/next/:id', nextSteps],
  ['/jobs/:job/runs/:run/readings/file', readingsFile],
  ['/jobs/:job/runs/:run/readings/:id', reading],
  ['/jobs/:job/runs/:run/observations/:id', observation],
  ['/jobs/:job/runs/:run/change', stretchChange],
  ['/jobs/:job/runs/:run/:part/:id', partForm],
  ['/jobs/:job/remarks', remarks],
  ['/jobs/:job/remarks/:id', partForm],
  ['/jobs/:job/photos', photos],
  ['/jobs/:job/photos/new', photoNew],
  ['/jobs/:job/photos/:id', photo],
  ['/jobs/:job/conflicts', conflicts],
  ['/jobs/:job/removed', removed],
  ['/jobs/:job/leave', leave],
  ['/jobs/:job/handover', handover],
  ['/jobs/:job/pack', pack],
  ['/outbox', outbox],
  ['/settings', settings],
  ['/handbook', handbook],
  ['/join', join]
];

const OFFICE = /^\/office(\/|$)/;
const LIST = /^\/jobs\/[^/]+\/leave(\?|$)/;
const FORM = /\/(new|change)(\?|$)/;

/** @param {string} path @returns {{screen: Screen, params: Object<string, string>} | null} */
export function match(path) {
  if (OFFICE.test(path)) return { screen: officeAway, params: {} };
  const parts = path.split('/').filter(Boolean);
  for (const [pattern, screen] of ROUTES) {
    const wanted = pattern.split('/').filter(Boolean);
    if (wanted.length !== parts.length) continue;
    /** @type {Object<string, string>} */
    const params = {};
    const fits = wanted.every((one, i) => {
      if (one.startsWith(':')) params[one.slice(1)] = decoded(parts[i]);
      return one.startsWith(':') || one === parts[i];
    });
    if (fits) return { screen, params };
  }
  return null;
}

/** @param {string} part @returns {string} as written where it cannot be decoded: no record has such an id */
function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** @param {App} app @param {HTMLElement} root @returns {Promise<void>} once the first screen is drawn */
export function startRouter(app, root) {
  /** @type {(() => void) | void} */
  let unmount;
  let turn = 0;
  /** @type {(() => void) | null} */
  let arrived = null;
  /** @type {Page | null} */
  let page = null;
  /** @type {Map<string, number>} where each screen was scrolled to, by its address */
  const scrolled = new Map();

  /** @param {boolean} back @returns {Promise<void>} */
  async function show(back) {
    turn += 1;
    const mine = turn;
    unmount?.();
    unmount = undefined;
    page?.stop();
    page = makePage(app, root);
    const current = page;
    const path = location.pathname;
    const found = match(path);
    try {
      const params = {
        ...found?.params,
        path: path + location.search,
        query: new URLSearchParams(location.search)
      };
      const stop = found ? await mounted(found.screen, current, params, app) : missing(current);
      if (mine !== turn) {
        stop?.();
        return;
      }
      unmount = stop;
    } catch (error) {
      broken(current, error);
    }
    if (mine !== turn) return;
    if (!document.documentElement.dataset.screen) performance.mark('first screen');
    document.documentElement.dataset.screen = 'shown'; // the watchdog looks for it
    window.scrollTo(0, back ? (scrolled.get(path) ?? 0) : 0);
    current.focus();
  }

  /** Each entry of the history knows where it was come to from; going there again is going back.
   * From the list of open items every way back leads to the list. `field`: the one to look at.
   * @param {string} path @param {{replace?: boolean, field?: string}} [how] @returns {Promise<void>} */
  async function go(path, { replace = false, field = '' } = {}) {
    closeSnack();
    scrolled.set(location.pathname, window.scrollY);
    if (
      replace &&
      (history.state?.from === path || (LIST.test(history.state?.from ?? '') && !FORM.test(path)))
    ) {
      return new Promise((resolve) => {
        arrived = resolve;
        history.back();
      });
    }
    const here = location.pathname + location.search;
    if (replace) history.replaceState(history.state, '', path);
    else history.pushState({ from: here }, '', path);
    await show(false);
    if (field) lookAt(root, field);
  }

  app.go = go;
  app.announce = announce;
  history.scrollRestoration = 'manual';
  window.addEventListener('popstate', () => {
    closeSnack();
    const waiting = arrived;
    arrived = null;
    void show(true).then(() => waiting?.());
  });
  document.addEventListener('click', (event) => {
    const link = /** @type {HTMLElement} */ (event.target).closest?.('a');
    if (!link || !isOurs(event, link)) return;
    event.preventDefault();
    const target = link.pathname + link.search;
    void go(target, {
      replace: Boolean(link.dataset.back) || target === location.pathname + location.search,
      field: link.dataset.field
    });
  });
  keepPresses();
  dispatchEvent(new Event('fallbook-working')); // a job with much in it may take a while to show
  void night(app);
  return show(false);
}

/**
 * Brings the field of a form into view, with the focus in it.
 * @param {HTMLElement} root
 * @param {string} name
 */
function lookAt(root, name) {
  const frame = /** @type {HTMLElement | null} */ (
    root.querySelector(`main [data-field="${CSS.escape(name)}"]`)
  );
  if (!frame) return;
  for (let fold = frame.closest('details'); fold; fold = fold.parentElement?.closest('details') ?? null)
    fold.open = true;
  const control = /** @type {HTMLElement | null} */ (frame.querySelector('input, select, textarea, button'));
  control?.focus({ preventScroll: true });
  frame.scrollIntoView({ block: 'center' });
}

/** @param {MouseEvent} event @param {HTMLAnchorElement} link */
function isOurs(event, link) {
  if (
    event.defaultPrevented ||
    event.button !== 0 ||
    event.metaKey ||
    event.ctrlKey ||
    event.shiftKey ||
    event.altKey
  )
    return false;
  if (link.origin !== location.origin || link.target || link.hasAttribute('download')) return false;
  return !/^\/(api|media|static|office|tables)(\/|$)/.test(link.pathname);
}

/** Said to a screen reader; the words are also on the screen. @param {string} text */
function announce(text) {
  const place = document.getElementById('announcer');
  if (!place) return;
  place.textContent = '';
  setTimeout(() => {
    place.textContent = text;
  }, 30);
}

/** @param {App} app */
export async function night(app) {
  document.documentElement.classList.toggle('night', (await app.store.setting('night')) === true);
}

/**
 * A screen, or where its job is not on this phone the way to it.
 * @param {Screen} screen
 * @param {Page} page
 * @param {any} params
 * @param {App} app
 */
async function mounted(screen, page, params, app) {
  try {
    return await screen.mount(page, params, app);
  } catch (error) {
    const { jobId } = /** @type {{jobId?: string}} */ (error ?? {});
    if (!jobId) throw error;
    return jobAway.mount(page, { job: jobId, path: params.path }, app);
  }
}

/** @param {Page} page @returns {undefined} */
function missing(page) {
  page.head({ title: t('page.missing'), back: '/' });
  page.body(h('p', null, t('page.missing_why')), h('p', null, h('a', { href: '/' }, t('page.to_jobs'))));
}

/** @param {Page} page @param {unknown} error */
function broken(page, error) {
  const gone = /** @type {any} */ (error)?.name === 'GoneError';
  if (!gone) console.error(error);
  page.head({ title: gone ? t('page.gone') : t('page.broken'), back: '/' });
  const words = errorWords(error);
  page.body(
    gone
      ? h('p', null, words)
      : note('fault', h('p', null, t('page.broken_why')), h('p', { class: 'small' }, words)),
    h(
      'p',
      null,
      h('a', { href: '/' }, t('page.to_jobs')),
      ' · ',
      h('a', { href: '/settings' }, t('page.to_settings'))
    )
  );
}

/**
 * The app itself could not start: once more, or say so, and that nothing is lost.
 * @param {HTMLElement} root
 * @param {unknown} error
 */
export function startFailed(root, error) {
  console.error(error);
  const { fallbookWatchdog, fallbookSaveKey } = /** @type {any} */ (globalThis);
  // it has had its time, and says what to do
  const isStorage = /** @type {any} */ (error)?.name === 'StoreError';
  if (!isStorage && fallbookWatchdog?.trouble('start_failed')) return;
  document.documentElement.dataset.screen = 'failed';
  const words = errorWords(error);
  const code = /** @type {any} */ (error)?.code;
  root.replaceChildren(
    h(
      'main',
      { class: 'main' },
      h('div', { class: 'head' }, h('h1', null, t('start.failed'))),
      h(
        'div',
        { class: 'body' },
        note('fault', h('p', null, words), code ? h('p', { class: 'small' }, code) : null),
        h('p', null, t('start.failed_why')),
        h(
          'button',
          { type: 'button', class: 'button main-act action wide', onclick: () => location.reload() },
          t('failure.again')
        ),
        fallbookSaveKey ? fallbookSaveKey() : null
      )
    )
  );
}
