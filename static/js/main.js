/**
 * The running app, for scripts in the page (static/js/screens/README.md):
 * `const { app, ready } = await import('/static/js/main.js'); await ready`.
 *
 * What runs is the joined script, which starts in `start.js`; this only hands it on, so that nothing starts
 * twice.
 */

/** @returns {Promise<import('./start.js').Running>} as soon as the app's script has run */
async function running() {
  const place = /** @type {{fallbook?: import('./start.js').Running}} */ (globalThis);
  while (!place.fallbook) await new Promise((resolve) => setTimeout(resolve, 10));
  return place.fallbook;
}

export const { app, ready, module } = await running();
