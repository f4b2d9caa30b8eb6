/** Screens that follow the store: drawn at once, drawn again when something changes. */

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
        if (!stopped) await draw();
      } while (again && !stopped);
    } finally {
      drawing = false;
    }
  };
  /** @param {Event} event */
  const changed = (event) => {
    const about = /** @type {CustomEvent} */ (event).detail?.jobId;
    if (!jobId || !about || about === jobId) void redraw();
  };
  await redraw();
  app.store.events.addEventListener('changed', changed);
  return () => {
    stopped = true;
    app.store.events.removeEventListener('changed', changed);
  };
}
