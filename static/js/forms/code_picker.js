/** Finds a code: keys of the usual ones at once, plain words for the rest, changes of the pipe among them. */
import { h, refill, uid } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { button } from '../ui/page.js';
import { pictogram } from '../ui/pictograms.js';
import { findCode } from '../survey/coding/codes.js';
import { composeCode, readCode } from '../survey/coding/written_form.js';
import { usualKeys } from './usual_keys.js';
import { t } from '../text/words.js';

const SHOWN = 8;

/** @typedef {import('./carried.js').Kinds} Kinds */
/** @typedef {import('../ui/types.js').CodeRow} CodeRow */
/** @typedef {import('../ui/types.js').JobView} JobView */
/** @typedef {import('../ui/types.js').PipeChange} PipeChange */
/** @typedef {import('../records/types.js').ObservationFields} ObservationFields */

/**
 * @param {object} about
 * @param {CodeRow[]} about.rows the code table
 * @param {(text: string, limit: number) => Array<CodeRow | PipeChange>} about.search
 * @param {import('./usual_keys.js').UsualRow[]} about.usual
 * @param {string[]} about.used codes used in this job, most used first
 * @param {(code: string, kinds: Kinds | null) => void} about.chosen
 * @param {(fields: ObservationFields) => void} about.writtenChosen a whole observation was typed, such as
 *   BAB B A 3 mm at 10-2
 * @param {(row: PipeChange) => void} about.changeChosen a change of the pipe, which opens a stretch
 */
export function codePicker({ rows, search, usual, used, chosen, writtenChosen, changeChosen }) {
  const id = uid('code');
  const list = h('div', { class: 'code-list', role: 'group', 'aria-label': t('code.results') });
  const status = h('p', { class: 'field-help', role: 'status' });
  const input = h('input', {
    class: 'input',
    id,
    type: 'search',
    autocomplete: 'off',
    enterkeyhint: 'search',
    placeholder: t('code.usual'),
    oninput: () => show(),
    onkeydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key === 'Enter') event.preventDefault();
    }
  });
  const keys = usualKeys(rows, usual, used, pick);
  const chosenPlace = h('div', null);
  const finder = h(
    'div',
    { class: 'code-find' },
    h('label', { class: 'unseen', for: id }, t('code.find')),
    h('div', { class: 'search' }, icon('search'), input),
    status,
    keys,
    list
  );
  const element = h('div', { class: 'code-pick' }, chosenPlace, finder);
  /** @type {string} */
  let code = '';

  function show() {
    const text = input.value.trim();
    const found = text ? search(text, SHOWN) : [];
    status.textContent = text ? t('code.found', { n: found.length }) : '';
    status.hidden = text === '';
    keys.hidden = text !== '';
    refill(
      list,
      writtenKey(rows, text, writtenChosen),
      ...found.map((row) => codeKey(row, () => ('action' in row ? changeChosen(row) : pick(row.code, null))))
    );
  }

  /** @param {string} wanted @param {Kinds | null} kinds */
  function pick(wanted, kinds) {
    set(wanted);
    chosen(wanted, kinds);
    chosenPlace.querySelector('button')?.focus({ preventScroll: true });
  }

  /** @param {string} wanted */
  function set(wanted) {
    code = wanted;
    finder.hidden = code !== '';
    refill(chosenPlace, code ? chosenCard(code, findCode(rows, code), again) : null);
    if (!code) show();
  }

  function again() {
    finder.hidden = false;
    refill(chosenPlace);
    input.value = '';
    show();
    input.focus({ preventScroll: true });
  }

  show();
  setTimeout(() => search('', 1), 0); // the index is made before the first key press
  return {
    element,
    set,
    get: () => code,
    focus: () => (finder.hidden ? chosenPlace.querySelector('button') : input)?.focus()
  };
}

/**
 * One key for all that was typed, where it reads as a whole observation.
 * @param {CodeRow[]} rows
 * @param {string} text
 * @param {(fields: ObservationFields) => void} chosen
 */
function writtenKey(rows, text, chosen) {
  const { fields, faults } = readCode(rows, text);
  const row = faults.length ? null : findCode(rows, fields.code ?? '');
  if (!row || Object.keys(fields).length === 1) return null;
  return h(
    'button',
    { type: 'button', class: 'code-row', onclick: () => chosen(fields) },
    h('span', { class: 'code-letters' }, icon('tick')),
    h('span', null, t('code.as_written'), h('span', { class: 'code-row-under' }, composeCode(rows, fields))),
    pictogram(row.pictogram)
  );
}

/** @param {CodeRow | PipeChange} row @param {() => void} pressed */
function codeKey(row, pressed) {
  const under = 'action' in row ? h('span', { class: 'code-row-under' }, t('code.new_stretch')) : null;
  return h(
    'button',
    { type: 'button', class: 'code-row', onclick: pressed },
    h('span', { class: 'code-letters' }, row.code || icon('stretch')),
    h('span', null, row.title, under),
    pictogram(row.pictogram)
  );
}

/** @param {string} code @param {CodeRow | null} row @param {() => void} again */
function chosenCard(code, row, again) {
  const help = row
    ? h(
        'details',
        { class: 'small' },
        h('summary', null, t('code.what_it_means')),
        row.help ? h('p', { class: 'field-help' }, row.help) : null,
        h('p', { class: 'field-help' }, t('code.certainty', { how: row.status }))
      )
    : null;
  return h(
    'div',
    { class: 'card code-chosen' },
    h(
      'div',
      { class: 'spread' },
      pictogram(row?.pictogram),
      h(
        'span',
        null,
        h('span', { class: 'code-letters' }, code),
        ' ',
        h('strong', null, row?.title ?? t('obs.unknown_code'))
      ),
      button(t('code.change'), { tone: 'quiet', onclick: again })
    ),
    help
  );
}

/** Codes of a job, most used first. @param {JobView} view @returns {string[]} */
export function usedCodes(view) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const { fields } of view.records('observation'))
    if (fields.code) counts.set(fields.code, (counts.get(fields.code) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1]).map(([code]) => code);
}
