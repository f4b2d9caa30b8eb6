/** Screens that follow the store: drawn at once, drawn again when something changes. */

const REDRAW_MS = 30;

/** A control that had the focus and is gone after drawing leaves it to the heading, not to nowhere.
 * @param {() => Promise<void>} draw */
async function keepingFocus(draw) {
  const inside = document.getElementById('main')?.contains(document.activeElement);
  await draw();
  if (inside && document.activeElement === document.body) document.getElementById('heading')?.focus({ preventScroll: true });
}

/** @param {() => void} act @param {number} ms @returns {() => void} acts at most once in that time, and at the end of it */
export function atMostEvery(act, ms) {
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  return () => {
    timer ??= setTimeout(() => {
      timer = undefined;
      act();
    }, ms);
  };
}

/**
 * @param {any} app @param {string | null} jobId @param {() => Promise<void>} draw
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
        if (!stopped) await keepingFocus(draw);
      } while (again && !stopped);
    } finally {
      drawing = false;
    }
  };
  // A little later, so that a row of changes is drawn once, and drawing never stands before the next write.
  const soon = atMostEvery(() => void redraw(), REDRAW_MS);
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
