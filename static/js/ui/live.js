/** Screens that follow the store: drawn at once, drawn again when something changes. */

/** @typedef {import('./types.js').App} App */

const REDRAW_MS = 30;

/**
 * Every fold on the screen by its words, the second of the same words apart.
 * @returns {[string, HTMLDetailsElement][]}
 */
function folds() {
  /** @type {Object<string, number>} */
  const seen = {};
  return [...(document.getElementById('main')?.querySelectorAll('details') ?? [])].map((one) => {
    const words = one.querySelector('summary')?.textContent ?? '';
    seen[words] = (seen[words] ?? 0) + 1;
    return [`${words} ${seen[words]}`, /** @type {HTMLDetailsElement} */ (one)];
  });
}

/**
 * What somebody has opened stays open, and a control that is drawn again has the focus again; one that is
 * gone leaves it to the heading.
 * @param {() => Promise<void>} draw
 */
async function keepingPlace(draw) {
  const held = document.activeElement;
  const inside = document.getElementById('main')?.contains(held);
  const opened = new Set(
    folds()
      .filter(([, one]) => one.open)
      .map(([words]) => words)
  );
  await draw();
  if (opened.size) for (const [words, one] of folds()) one.open ||= opened.has(words);
  if (!inside || document.activeElement !== document.body) return;
  const next = held?.isConnected ? /** @type {HTMLElement} */ (held) : document.getElementById('heading');
  next?.focus({ preventScroll: true });
}

/**
 * @param {() => void} act
 * @param {number} ms
 * @returns {() => void} acts at most once in that time, and at the end of it
 */
export function atMostEvery(act, ms) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  return () => {
    if (timer !== undefined) return;
    timer = setTimeout(() => {
      timer = undefined;
      act();
    }, ms);
  };
}

/**
 * @param {App} app @param {string | null} jobId @param {() => Promise<void>} draw
 * @returns {Promise<() => void>} stops following
 */
export async function live(app, jobId, draw) {
  let stopped = false;
  let drawing = false;
  let again = false;
  const redraw = async () => {
    if (drawing) {
      again = true;
      return;
    }
    drawing = true;
    try {
      do {
        again = false;
        if (!stopped) await keepingPlace(draw);
      } while (again && !stopped);
    } finally {
      drawing = false;
    }
  };
  // A little later, so that a row of changes is drawn once, and drawing never stands before the next write.
  const soon = atMostEvery(() => void follow(), REDRAW_MS);
  const follow = async () => {
    if (!jobId || stopped || (await app.store.job(jobId)).job) return redraw();
    stop();
    return app.go(location.pathname + location.search, { replace: true }); // it is not here any more
  };
  /** @param {Event} event */
  const changed = (event) => {
    const about = /** @type {CustomEvent} */ (event).detail?.jobId;
    if (!jobId || !about || about === jobId) soon();
  };
  const stop = () => {
    stopped = true;
    app.store.events.removeEventListener('changed', changed);
  };
  // Listening from the start: what changes while the first drawing is under way must be drawn too.
  app.store.events.addEventListener('changed', changed);
  try {
    await redraw();
  } catch (error) {
    stop();
    throw error;
  }
  return stop;
}
