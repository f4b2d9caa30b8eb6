/** What the camera could see, in sentences. Twin of webapp/survey/wording/visibility_words.py. */
import { decimalText } from '../numbers/decimals.js';
import { placeText } from './figure_words.js';
import { classWords } from './grading_words.js';

/** @typedef {import('../coding/visibility.js').Visibility} Visibility */
/** @typedef {import('../coding/visibility.js').Part} Part */

const MIN_M = 0.005; // less is nothing at two decimals

/** @param {Visibility} account @param {number} defects @returns {string} */
export function seenLine(account, defects) {
  if (account.total_m === null && account.to_counter_m !== null)
    return 'The run is recorded to end where it begins, so what was seen is not known.';
  if (account.total_m === null)
    return 'How far the run was surveyed is not recorded, so what was seen is not known.';
  const total = decimalText(account.total_m, 2);
  if (!account.looked)
    return `Nothing recorded shows that the camera looked at the wall of the ${total} m surveyed.`;
  const [clearM, partM, hiddenM] = [
    Number(account.clear_m),
    Number(account.part_m),
    Number(account.hidden_m)
  ];
  const seenM = clearM + partM;
  if (seenM <= MIN_M) return `Nothing of the ${total} m surveyed could be seen.`;
  const part = partM > MIN_M ? `; ${decimalText(partM, 2)} m of it was seen only in part` : '';
  const seen = decimalText(seenM, 2);
  if (hiddenM <= MIN_M) {
    return defects
      ? `All of the ${total} m surveyed could be seen${part}.`
      : `No defect was seen in the ${total} m surveyed${part}.`;
  }
  if (defects) return `${seen} m of ${total} m could be seen${part}.`;
  return `No defect was seen in the ${seen} m of ${total} m that could be seen${part}.`;
}

/** @param {Part} part @param {number} fromM @param {number} toM @param {string} why @returns {string} */
export function partLine(part, fromM, toM, why) {
  const where = `From ${placeText(fromM)} m to ${placeText(toM)} m`;
  const assumed = part.known === 'assumed' ? ' (how far it goes is assumed)' : '';
  const depth = part.depth_pct === null ? '' : `, ${decimalText(part.depth_pct, 0)} % of the height`;
  if (part.sight === 'hidden') return `${where} nothing could be seen: ${why}${depth}${assumed}.`;
  let hours = '';
  if (part.hour_from !== null) {
    const [first, last] = [Math.floor(part.hour_from), Math.ceil(Number(part.hour_to))];
    hours =
      last - first >= 12
        ? ', which hides the wall all round'
        : `, which hides the wall from ${first} to ${last} o’clock`;
  }
  return `${where} the wall was seen only in part: ${why}${depth}${hours}${assumed}.`;
}

/**
 * @param {number} low
 * @param {number} high
 * @param {number | null} unseenM
 * @param {number | null} lengthM
 * @param {any} scheme
 * @returns {string}
 */
export function knownClassWords(low, high, unseenM, lengthM, scheme) {
  const words = classWords(low, high, scheme);
  if (unseenM === null) return high === 0 ? 'not known' : `${words}, as far as recorded`;
  if (unseenM <= MIN_M) return words;
  const over = `not known over ${decimalText(unseenM, 2)} m`;
  if (high === 0)
    return lengthM !== null && lengthM - unseenM <= MIN_M
      ? 'not known'
      : `${words} in what could be seen, ${over}`;
  return `${words}, ${over}`;
}
