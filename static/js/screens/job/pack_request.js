/** Asking the server for a pack: the one thing on the phone that cannot be done without it. */

/**
 * @typedef {{pack_id: string, state: string, done: number, total: number, step: string, message?: string}}
 *   PackState
 */

/** @param {string} jobId @returns {Promise<PackState>} */
export function askForPack(jobId) {
  return ask(`/api/jobs/${jobId}/packs`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: '{}'
  });
}

/** @param {string} packId @returns {Promise<PackState>} */
export function packState(packId) {
  return ask(`/api/packs/${packId}`);
}

/** A TypeError means that no server was reached; any other error carries the server's own sentence.
 * @param {string} url @param {RequestInit} [how] @returns {Promise<PackState>} */
async function ask(url, how) {
  const answer = await fetch(url, how);
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(body.errors?.[0]?.message ?? `${answer.status}`);
  return body;
}
