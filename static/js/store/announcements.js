/** Who changed something tells this tab and the others; what other tabs tell is heard here. */

/**
 * `told`: another tab wrote to a job; `woken`: the page was asleep and may have missed that.
 * @typedef {{told: (jobId: string) => void, woken: () => void}} Listener
 */

export class Announcements {
  events = new EventTarget();
  /** Whether other tabs can be heard. */
  listens = false;
  /** @type {BroadcastChannel | undefined} */
  #channel;
  /** @type {Set<string>} jobs written to, of which nobody has been told yet */
  #changed = new Set();

  /** From now on hear of what other tabs write. @param {Listener} listener */
  listen(listener) {
    if (typeof BroadcastChannel === 'undefined') return;
    this.#channel = new BroadcastChannel('fallbook');
    this.#channel.onmessage = ({ data }) => {
      if (data?.type !== 'changed') return;
      listener.told(data.jobId);
      this.#tell(data.jobId);
    };
    this.listens = true;
    const woken = (/** @type {Event} */ event) => {
      if (event.type === 'pageshow' && !(/** @type {PageTransitionEvent} */ (event).persisted)) return; // it is only now shown for the first time
      listener.woken();
    };
    for (const kind of ['visibilitychange', 'pageshow']) globalThis.addEventListener?.(kind, woken);
  }

  /** @param {string} jobId */
  #tell(jobId) {
    this.events.dispatchEvent(new CustomEvent('changed', { detail: { jobId } }));
  }

  /** @param {string} jobId empty for what is of no job */
  tellTabs(jobId) {
    this.#channel?.postMessage({ type: 'changed', jobId });
  }

  /** Tell this tab and the others, once whoever waits for the write has gone on. @param {string} jobId */
  announce(jobId) {
    if (this.#changed.size === 0) {
      setTimeout(() => {
        const jobIds = [...this.#changed];
        this.#changed.clear();
        for (const each of jobIds) {
          this.tellTabs(each);
          this.#tell(each);
        }
      });
    }
    this.#changed.add(jobId);
  }
}
