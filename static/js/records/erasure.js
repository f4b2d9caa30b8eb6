/**
 * The eraser: what the office took away, and the frame that stands for it. Twin of webapp/records/erasure.py.
 */

/** @typedef {import('./fold.js').Entry} Entry */
/** @typedef {import('./types.js').StretchRecord} StretchRecord */
/** @typedef {'quarantined' | 'undone' | 'expunged'} ActState */
/**
 * An act of the office. `spans`: writer to first and last numbers; `places`: observation to run, from and to
 * on the counter (m), null from the start or to the end; `until`: the last day on which it can be undone.
 * `resent`: of one that was undone, whether this phone has sent once more what it had hidden.
 * @typedef {{id: string, job_id: string, what: string, spans: Object<string, Array<[number, number]>>,
 *   photos: string[], places: Object<string, [string, number | null, number | null]>, reason: string, by:
 *   string, at: string, until: string, state: ActState, changed_at: string, proof: string, resent?:
 *   boolean}} Act
 */
/**
 * @typedef {{act: string, run_id?: string, from_counter_m?: number | null, to_counter_m?: number | null}}
 *   About
 * @typedef {Pick<Entry, 'job_id' | 'writer' | 'number'> & Partial<Pick<Entry, 'record_id' | 'kind'>> &
 *   {erased: About}} ErasedEntry
 */

export const CODE = 'erased';
/** @type {ActState[]} */
const STATES = ['quarantined', 'undone', 'expunged'];

/** Whether it names an entry.
 * @param {Act} act @param {string} writer @param {number} number @returns {boolean} */
export function covers(act, writer, number) {
  return (
    Object.hasOwn(act.spans, writer) &&
    act.spans[writer].some(([first, last]) => first <= number && number <= last)
  );
}

/** How many entries it names. @param {Act} act @returns {number} */
export function countOf(act) {
  return Object.values(act.spans)
    .flat()
    .reduce((sum, [first, last]) => sum + last - first + 1, 0);
}

/** Whether it is a later state of the same act. @param {Act} act @param {Act} [other] @returns {boolean} */
export function supersedes(act, other) {
  return !other || STATES.indexOf(act.state) > STATES.indexOf(other.state);
}

/** The act that erased an entry; an expunged one before one that may be undone.
 * @param {Act[]} acts @param {{writer: string, number: number}} entry @returns {Act | undefined} */
export function standing(acts, { writer, number }) {
  const own = acts.filter((act) => act.state !== 'undone' && covers(act, writer, number));
  return own.find((act) => act.state === 'expunged') ?? own[0];
}

/** What stands for an erased entry: nothing of what was entered.
 * @param {Entry} entry @param {Act} act @returns {ErasedEntry} */
export function frameOf(entry, act) {
  const { job_id, writer, number } = entry;
  /** @type {ErasedEntry} */
  const frame = { job_id, writer, number, erased: { act: act.id } };
  for (const name of /** @type {const} */ (['record_id', 'kind']))
    if (typeof entry[name] === 'string' && entry[name].length <= 36) frame[name] = entry[name];
  const place = Object.hasOwn(act.places, entry.record_id) ? act.places[entry.record_id] : undefined;
  if (place)
    Object.assign(frame.erased, { run_id: place[0], from_counter_m: place[1], to_counter_m: place[2] });
  return frame;
}

/** Why it takes no part, as a mark.
 * @param {Act} act @returns {{code: string, reasons: Object<string, string[]>}} */
export function reasonsOf(act) {
  return { code: CODE, reasons: { entry: [`${act.at.slice(0, 10)}: ${act.reason}`] } };
}

/** The lines that a stamp is made of; ids are ASCII, so text order is byte order.
 * @param {Act[]} acts @returns {string} */
export function stampLines(acts) {
  return acts
    .map((act) => `${act.id}:${act.state}`)
    .sort()
    .join('\n');
}

/** Where observations were that are erased, by run.
 * @param {ErasedEntry[]} frames @returns {Map<string, StretchRecord[]>} */
export function erasedPlaces(frames) {
  /** @type {Map<string, {run_id: string, place: StretchRecord}>} */
  const named = new Map();
  for (const { record_id, erased } of frames) {
    const { act, run_id, from_counter_m, to_counter_m } = erased;
    if (!run_id || !record_id) continue;
    const place = { id: record_id, fields: { run_id, from_counter_m, to_counter_m } };
    named.set(`${record_id} ${act}`, { run_id, place });
  }
  /** @type {Map<string, StretchRecord[]>} */
  const found = new Map();
  for (const [, { run_id, place }] of [...named].sort(([a], [b]) => (a < b ? -1 : 1)))
    found.set(run_id, [...(found.get(run_id) ?? []), place]);
  return found;
}
