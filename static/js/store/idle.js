/** Work that can wait. */

/** @returns {Promise<void>} when the browser has nothing else to do */
export function idle() {
  return new Promise((resolve) => {
    const ask = globalThis.requestIdleCallback;
    if (ask) ask(() => resolve(), { timeout: 1000 });
    else setTimeout(resolve, 30);
  });
}
