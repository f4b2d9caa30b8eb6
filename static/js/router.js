/** Which screen is shown, and the way back. The screens stand in routes.js. */
import { broken, missing } from './ui/broken_pages.js';
import { comingPage } from './ui/coming_page.js';
import { makePage } from './ui/page.js';
import { closeSnack } from './ui/snack_bar.js';
import { keepPresses } from './ui/taps.js';
import { match } from './routes.js';
import * as jobAway from './screens/job/job_away.js';

/** @typedef {import('./ui/page.js').Page} Page */
/** @typedef {import('./ui/types.js').Params} Params */
/** @typedef {import('./ui/types.js').App} App */
/** @typedef {import('./routes.js').Screen} Screen */
/** @typedef {import('./routes.js').LaterScreen} LaterScreen */

const LIST = /^\/jobs\/[^/]+\/leave(\?|$)/;
const FORM = /\/(new|change)(\?|$)/;
const COMING_AFTER_MS = 500;

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
      const screen = found ? await here(app, found.screen, () => void show(back)) : null;
      if (mine !== turn) return;
      const stop = screen ? await mounted(screen, current, params, app) : missing(current);
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
 * A screen; one of the second part of the app as soon as that is here, and until then a page that says so.
 * @param {App} app
 * @param {Screen | LaterScreen} screen
 * @param {() => void} again
 * @returns {Promise<Screen>}
 */
async function here(app, screen, again) {
  if (typeof screen !== 'string') return screen;
  const second = await Promise.race([
    app.second.load().catch(() => undefined),
    new Promise((resolve) => setTimeout(resolve, COMING_AFTER_MS))
  ]);
  return second ? second.screens[screen] : comingPage(again);
}

/**
 * A screen, or where its job is not on this phone the way to it.
 * @param {Screen} screen
 * @param {Page} page
 * @param {import('./ui/types.js').Params} params
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
