/**
 * The photos that the server wanted at its last answer: a list with its stamp, and beside it the few that
 * came and went since. A list of thousands is not written again for one.
 */

import { digestWith } from '../records/wants.js';

/**
 * `of`: the stamp of the list that it belongs to. An earlier version of the app writes that one alone.
 * `sent`: what this phone has sent since the answer.
 * @typedef {{of: string, stamp: string, wanted: string[], unwanted: string[], sent: string[]}} Since
 */
/**
 * `list`: as the server said it; `left`: without what was sent since. Not to be changed by whoever asked.
 * @typedef {{list: Set<string>, left: Set<string>, base: Set<string>, stamp: string, of: string, sent:
 *   Set<string>}} WantedPhotos
 */

const FEW = 200;

/** @param {import('./notes.js').Notes} notes @returns {Promise<WantedPhotos>} */
export async function readWanted(notes) {
  const base = new Set(/** @type {string[] | undefined} */ (await notes.get('wanted_photos')) ?? []);
  const of = String((await notes.get('wanted_stamp')) ?? '');
  const since = /** @type {Partial<Since> | undefined} */ (await notes.get('wanted_since'));
  if (!of || since?.of !== of) return made(base, base, of, of, new Set());
  const list = new Set([...base, ...(since.wanted ?? [])]);
  for (const sha256 of since.unwanted ?? []) list.delete(sha256);
  return made(list, base, since.stamp ?? '', of, new Set(since.sent ?? []));
}

/**
 * @param {Set<string>} list @param {Set<string>} base @param {string} stamp @param {string} of
 * @param {Set<string>} sent @returns {WantedPhotos}
 */
function made(list, base, stamp, of, sent) {
  const left = sent.size ? new Set([...list].filter((sha256) => !sent.has(sha256))) : list;
  return { list, left, base, stamp, of, sent };
}

/**
 * The whole list, as the server said it.
 * @param {import('./notes.js').Notes} notes @param {Iterable<string>} list @param {string} stamp
 * @returns {Promise<WantedPhotos>} once it is on the disk
 */
export async function writeWanted(notes, list, stamp) {
  const whole = new Set(list);
  await notes.putAll([
    ['wanted_photos', [...whole]],
    ['wanted_stamp', stamp],
    ['wanted_since', {}]
  ]);
  return made(whole, whole, stamp, stamp, new Set());
}

/**
 * What became of some photos since the list that is kept. Where the list that this makes has not the digest
 * in its stamp, it goes without one.
 * @param {import('./notes.js').Notes} notes @param {WantedPhotos} before
 * @param {{wanted: string[], unwanted: string[], stamp: string}} changes
 * @returns {Promise<WantedPhotos>} once it is on the disk
 */
export async function changeWanted(notes, before, { wanted, unwanted, stamp }) {
  const more = wanted.filter((sha256) => !before.list.has(sha256));
  const gone = unwanted.filter((sha256) => before.list.has(sha256));
  const list = more.length + gone.length ? new Set([...before.list, ...more]) : before.list;
  for (const sha256 of gone) list.delete(sha256);
  const sound = digestWith(digestOf(before.stamp), [...more, ...gone]) === digestOf(stamp);
  return written(notes, before, list, sound ? stamp : '', new Set());
}

/**
 * @param {import('./notes.js').Notes} notes @param {WantedPhotos} before @param {Iterable<string>} hashes
 * @returns {Promise<WantedPhotos>} once it is on the disk
 */
export function noteSent(notes, before, hashes) {
  const sent = new Set([...before.sent, ...hashes]);
  if (before.stamp) return written(notes, before, before.list, before.stamp, sent);
  return writeWanted(notes, made(before.list, before.base, '', '', sent).left, '');
}

/** @param {string} stamp @returns {string} of its list */
function digestOf(stamp) {
  return stamp.slice(stamp.indexOf('.') + 1);
}

/**
 * @param {import('./notes.js').Notes} notes @param {WantedPhotos} before @param {Set<string>} list
 * @param {string} stamp @param {Set<string>} sent @returns {Promise<WantedPhotos>}
 */
async function written(notes, { base, of }, list, stamp, sent) {
  const wanted = list === base ? [] : [...list].filter((sha256) => !base.has(sha256));
  const unwanted = list === base ? [] : [...base].filter((sha256) => !list.has(sha256));
  if (!of || !stamp || wanted.length + unwanted.length > FEW) {
    const whole = await writeWanted(notes, list, stamp);
    return sent.size ? noteSent(notes, whole, sent) : whole;
  }
  await notes.put('wanted_since', { of, stamp, wanted, unwanted, sent: [...sent] });
  return made(list, base, stamp, of, sent);
}
