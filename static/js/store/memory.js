/**
 * What was read from the disk and is asked for again and again; forgotten whenever another tab may have
 * written.
 */

export class Memory {
  /** Only where other tabs can be heard is it safe to remember anything. */
  listens = false;
  /** @type {Map<string, any>} */
  #values = new Map();
  #changes = 0;

  /**
   * @template T
   * @param {string} key
   * @param {() => Promise<T>} read
   * @returns {Promise<T>} not to be changed by whoever asked
   */
  async get(key, read) {
    if (this.#values.has(key)) return this.#values.get(key);
    const before = this.#changes;
    const value = await read();
    // What was written while it was read may be missing from it.
    if (this.listens && before === this.#changes) this.#values.set(key, value);
    return value;
  }

  /** @param {string} key @returns {any} what is remembered, if anything */
  peek(key) {
    return this.#values.get(key);
  }

  /** @param {string} [key] all of it when left out */
  forget(key) {
    this.#changes += 1;
    if (key === undefined) this.#values.clear();
    else this.#values.delete(key);
  }
}
