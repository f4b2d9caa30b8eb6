/** Finds a code by plain words. Before anybody types, the codes used most on this phone's job come first. */
import { h, refill, uid } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { button } from '../ui/page.js';
import { findCode, searchCodes } from '../survey/codes.js';
import { t } from '../text/en.js';

const SHOWN = 8;
/** What most runs have, in the order in which they are met. */
const USUAL = ['BCD', 'BCA', 'BAJ', 'BBA', 'BAB', 'BBC', 'BDD', 'BCE'];

/** @param {any[]} rows @param {string[]} used codes used in this job, most used first @param {(code: string) => void} chosen */
export function codePicker(rows, used, chosen) {
  const id = uid('code');
  const list = h('div', { class: 'code-list', role: 'group', 'aria-label': t('code.results') });
  const said = h('p', { class: 'field-help', role: 'status' });
  const input = h('input', { class: 'input', id, type: 'search', autocomplete: 'off', enterkeyhint: 'search', oninput: () => show() });
  const first = [...new Set([...used, ...USUAL])].flatMap((code) => findCode(rows, code) ?? []).slice(0, SHOWN);
  const chosenPlace = h('div', null);
  const finder = h(
    'div', { class: 'stack-s' },
    h('label', { class: 'field-label', for: id }, t('code.find')),
    h('div', { class: 'search' }, icon('search'), input), said, list,
  );
  const element = h('div', { class: 'stack' }, chosenPlace, finder);
  /** @type {string} */
  let code = '';

  function show() {
    const text = input.value.trim();
    const found = text ? searchCodes(rows, text, SHOWN) : first;
    said.textContent = text ? t(found.length === 1 ? 'code.found_one' : 'code.found', { n: found.length }) : t('code.usual');
    refill(list, ...found.map((row) => codeKey(row, () => pick(row.code))));
  }

  /** @param {string} wanted */
  function pick(wanted) {
    set(wanted);
    chosen(wanted);
    chosenPlace.querySelector('button')?.focus();
  }

  /** @param {string} wanted */
  function set(wanted) {
    code = wanted;
    const row = findCode(rows, code);
    finder.hidden = code !== '';
    refill(chosenPlace, code ? chosenCard(code, row, again) : null);
    if (!code) show();
  }

  function again() {
    finder.hidden = false;
    refill(chosenPlace);
    input.value = '';
    show();
    input.focus();
  }

  show();
  return { element, set, get: () => code, focus: () => (finder.hidden ? chosenPlace.querySelector('button') : input)?.focus() };
}

/** @param {any} row @param {() => void} pressed */
function codeKey(row, pressed) {
  return h('button', { type: 'button', class: 'code-row', onclick: pressed }, h('span', { class: 'code-letters' }, row.code), h('span', null, row.title));
}

/** @param {string} code @param {any} row @param {() => void} again */
function chosenCard(code, row, again) {
  return h(
    'div', { class: 'card code-chosen' },
    h('div', { class: 'spread' }, h('span', null, h('span', { class: 'code-letters' }, code), ' ', h('strong', null, row?.title ?? t('obs.unknown_code'))), button(t('code.change'), { tone: 'quiet', onclick: again })),
    row?.help ? h('p', { class: 'field-help' }, row.help) : null,
    row ? h('p', { class: 'field-help' }, t('code.certainty', { how: row.status })) : null,
  );
}

/** Codes of a job, most used first. @param {any} view @returns {string[]} */
export function usedCodes(view) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const { fields } of view.records('observation')) if (fields.code) counts.set(fields.code, (counts.get(fields.code) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1]).map(([code]) => code);
}
