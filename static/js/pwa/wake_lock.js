/** Keep the screen on during a run. Not being able to is no fault: it is only shown. */

/** @returns {WakeLock} */
export function makeWakeLock() {
  return new WakeLock();
}

export class WakeLock {
  events = new EventTarget();
  #wanted = false;
  /** @type {WakeLockSentinel | undefined} */
  #sentinel;

  constructor() {
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible' && this.#wanted) this.#take();
    });
  }

  /** @returns {boolean} */
  get on() {
    return this.#sentinel !== undefined;
  }

  async request() {
    this.#wanted = true;
    await this.#take();
  }

  async release() {
    this.#wanted = false;
    await this.#sentinel?.release().catch(() => {});
  }

  async #take() {
    if (this.#sentinel || !('wakeLock' in navigator)) return;
    try {
      const sentinel = await navigator.wakeLock.request('screen');
      this.#sentinel = sentinel;
      sentinel.addEventListener('release', () => {
        this.#sentinel = undefined;
        this.events.dispatchEvent(new Event('changed'));
      });
      if (!this.#wanted) await sentinel.release();
      this.events.dispatchEvent(new Event('changed'));
    } catch {
      // low battery, or the page is hidden: the screen goes dark as usual
    }
  }
}
