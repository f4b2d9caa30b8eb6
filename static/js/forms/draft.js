/** Half-filled forms survive: every input goes to the store, under the address of the form. */

/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../ui/types.js').Standing} Standing */

/**
 * What is kept of a half-filled form: R what its controls hold.
 * `opened`: the record as it stood, and `shown` the entries that stood then. `mend`: the values of an entry
 * that was set aside, `aside` its id.
 * @template [R=Object<string, unknown>]
 * @typedef {{raw?: R, record_id?: string, opened?: AnyFields, shown?: Standing, mend?: AnyFields,
 *   aside?: string, kept_at?: string}} Draft
 */

/**
 * After an entry that was set aside has been mended by a new one.
 * @param {App} app
 * @param {string} jobId
 * @param {{aside?: string} | null | undefined} kept the draft
 */
export async function mended(app, jobId, kept) {
  if (kept?.aside) await app.store.dismissAside(jobId, kept.aside);
}

/**
 * @param {App} app @param {string} key @param {() => object} collect
 * @returns {{touch: () => void, flush: () => Promise<void>, drop: () => Promise<void>, stop: () => void}}
 */
export function keepDraft(app, key, collect) {
  let dirty = false;
  let ended = false;
  /** @type {Promise<void> | null} */
  let writing = null;

  async function write() {
    while (dirty && !ended) {
      dirty = false;
      try {
        await app.store.saveDraft(key, { ...collect(), kept_at: app.now().toISOString() });
      } catch (error) {
        console.warn('draft not kept', error);
      }
    }
    writing = null;
  }

  const touch = () => {
    dirty = true;
    writing ??= write();
  };
  const flush = async () => {
    await writing;
  };
  return {
    touch,
    flush,
    async drop() {
      ended = true;
      await writing;
      await app.store.dropDraft(key);
      ended = false;
      dirty = false;
    },
    stop() {
      /* what is typed is already on its way to the store */
    }
  };
}
