/** What a reading from a file had in the file. */
import { metres } from '../ui/format.js';
import { t } from '../text/words.js';

/**
 * The counter as it stands in the file that a reading is from, where that is another number.
 * @param {import('../records/types.js').ReadingFields} fields
 * @returns {string}
 */
export function inFile({ counter_typed: typed, counter_unit: unit, counter_added_m: added }) {
  if (!typed) return '';
  const words = /\d$/.test(typed) && unit ? `${typed} ${unit}` : typed;
  return added
    ? t('csv.in_file_added', { typed: words, m: metres(added) })
    : t('csv.in_file', { typed: words });
}
