/**
 * What goes in one request: small photos together, a large one by itself; read from the disk as it is asked
 * for.
 */

export const MAX_TOGETHER = 16; // what the server takes

/** @typedef {import('../store/photo_rows.js').PhotoRow} PhotoRow */

export class PhotoLoads {
  #together = true;
  /** @type {PhotoRow | undefined} read, and for the next load */
  #held;
  /** @type {{error: unknown} | undefined} met while a load was filled that goes first */
  #fault;
  /** @type {Promise<unknown>} */
  #turn = Promise.resolve();

  /**
   * @param {import('../store/store.js').Store} store @param {string[]} hashes each once
   * @param {import('./backoff.js').PieceSize} piece
   */
  constructor(store, hashes, piece) {
    this.store = store;
    this.left = [...hashes];
    this.piece = piece;
  }

  /** From now on each photo goes by itself. */
  oneByOne() {
    this.#together = false;
  }

  /**
   * The next load, whoever asks; they are filled one after the other. A fault shows only to whom it comes.
   * @returns {Promise<PhotoRow[]>} of no photos when nothing is left
   */
  next() {
    const load = this.#turn.then(() => this.#fill());
    this.#turn = load.catch(() => {});
    return load;
  }

  /** @returns {Promise<PhotoRow[]>} */
  async #fill() {
    if (this.#fault) {
      const { error } = this.#fault;
      this.#fault = undefined;
      throw error;
    }
    /** @type {PhotoRow[]} */
    const load = [];
    let bytes = 0;
    for (;;) {
      const photo = await this.#read().catch((error) => {
        if (load.length === 0) throw error;
        this.#fault = { error };
      });
      if (!photo) return load;
      const small = this.#small(photo);
      bytes += photo.size_bytes;
      if (load.length > 0 && !(small && bytes <= this.piece.size)) {
        this.#held = photo;
        return load;
      }
      load.push(photo);
      if (!small || load.length === MAX_TOGETHER) return load;
    }
  }

  /**
   * A link that broke off lately gets no more than one photo at a time.
   * @param {PhotoRow} photo
   * @returns {boolean}
   */
  #small({ size_bytes }) {
    return (
      this.#together && this.piece.together && this.piece.untroubled && size_bytes * 2 <= this.piece.size
    );
  }

  /** The next photo that is on this phone. @returns {Promise<PhotoRow | undefined>} */
  async #read() {
    if (this.#held) {
      const photo = this.#held;
      this.#held = undefined;
      return photo;
    }
    for (let sha256 = this.left.shift(); sha256 !== undefined; sha256 = this.left.shift()) {
      const photo = await this.store.photo(sha256);
      if (photo) return photo; // others are on somebody else's phone
    }
    return undefined;
  }
}
