/** The observations that most runs have, as keys: one tap gives the code and what kind it is. */
import { h } from '../ui/elements.js';
import { pictogram } from '../ui/pictograms.js';
import { findCode } from '../survey/coding/codes.js';
import { t } from '../text/words.js';
import { listed, sentences } from '../ui/format.js';

/** @typedef {import('../ui/types.js').CodeRow} CodeRow */
/** @typedef {import('../records/tables.js').UsualKey} UsualKey */
/** @typedef {import('../records/tables.js').UsualGroup} UsualRow */
/**
 * @typedef {(code: string, kinds: {characterisation_1?: string, characterisation_2?: string} | null) => void}
 *   Chosen
 */

const MAX_KEYS = 4;
/** Rows that are in sight at once on a phone; the others stand below them, so that each keeps its place. */
const IN_SIGHT = 10;

/**
 * @param {CodeRow[]} rows the code table
 * @param {UsualRow[]} usual
 * @param {string[]} used codes used in this job, most used first
 * @param {Chosen} chosen
 */
export function usualKeys(rows, usual, used, chosen) {
  const known = (/** @type {string} */ code) => findCode(rows, code) !== null;
  const shown = usual
    .map((row) => ({ ...row, keys: row.keys.filter((key) => known(key.code)) }))
    .filter((row) => row.keys.length);
  const have = new Set(shown.flatMap((row) => [row.code, ...row.keys.map((key) => key.code)]));
  const others = used.filter((code) => known(code) && !have.has(code)).slice(0, MAX_KEYS);
  return h(
    'div',
    { class: 'usual', role: 'group', 'aria-label': t('usual.title') },
    ...shown.slice(0, IN_SIGHT).map((row) => usualRow(rows, row, chosen)),
    h('p', { class: 'usual-more' }, t('usual.more')),
    ...shown.slice(IN_SIGHT).map((row) => usualRow(rows, row, chosen)),
    others.length
      ? h('div', { class: 'usual-row headless' }, ...others.map((code) => headKey(rows, code, code, chosen)))
      : null
  );
}

/** @param {CodeRow[]} rows @param {UsualRow} row @param {Chosen} chosen */
function usualRow(rows, row, chosen) {
  return h(
    'div',
    { class: `usual-row ${row.code ? '' : 'headless'}` },
    row.code ? headKey(rows, row.code, row.words, chosen) : null,
    ...row.keys.map((key) => kindKey(rows, key, chosen))
  );
}

/** @param {CodeRow[]} rows @param {string} code @param {string} words @param {Chosen} chosen */
function headKey(rows, code, words, chosen) {
  const row = findCode(rows, code);
  return h(
    'button',
    {
      type: 'button',
      class: 'usual-head key',
      'aria-label': listed([words, sentences([code, row?.title])]),
      onclick: () => chosen(code, null)
    },
    pictogram(row?.pictogram),
    h('span', null, words)
  );
}

/** @param {CodeRow[]} rows @param {UsualKey} key @param {Chosen} chosen */
function kindKey(rows, key, chosen) {
  const { code, words, ...kinds } = key;
  const name = t('usual.name', { title: findCode(rows, code)?.title ?? code, words });
  return h(
    'button',
    { type: 'button', class: 'usual-kind', 'aria-label': name, onclick: () => chosen(code, kinds) },
    words
  );
}
