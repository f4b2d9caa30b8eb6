/**
 * What was read from the disk and is asked for again and again; forgotten whenever another tab may have
 * written.
 */

/**
 * `any_away`: whether any job was put away.
 * @typedef {{known: string[], followed: string[], any_away: boolean,
 *   wanted: import('./wanted_photos.js').WantedPhotos,
 *   [server: `server:${string}`]: import('./server_vectors.js').Heard}} Remembered
 */

export class Memory {
  /** Only where other tabs can be heard is it safe to remember anything. */
  listens = false;
  /** @type {Map<keyof Remembered, unknown>} */
  #values = new Map();
  #changes = 0;

  /**
   * @template {keyof Remembered} K
   * @param {K} key
   * @param {() => Promise<Remembered[K]>} read
   * @returns {Promise<Remembered[K]>} not to be changed by whoever asked
   */
  async get(key, read) {
    if (this.#values.has(key)) return /** @type {Remembered[K]} */ (this.#values.get(key));
    const before = this.#changes;
    const value = await read();
    // What was written while it was read may be missing from it.
    if (this.listens && before === this.#changes) this.#values.set(key, value);
    return value;
  }

  /** @template {keyof Remembered} K @param {K} key @param {Remembered[K]} value as it was written just now */
  keep(key, value) {
    this.forget(key);
    if (this.listens) this.#values.set(key, value);
  }

  /**
   * @template {keyof Remembered} K @param {K} key
   * @returns {Remembered[K] | undefined} what is remembered, if anything
   */
  peek(key) {
    return /** @type {Remembered[K] | undefined} */ (this.#values.get(key));
  }

  /** @param {keyof Remembered} [key] all of it when left out */
  forget(key) {
    this.#changes += 1;
    if (key === undefined) this.#values.clear();
    else this.#values.delete(key);
  }
}
