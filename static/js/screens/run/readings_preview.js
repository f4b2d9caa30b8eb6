/** What a file of readings holds, before anything is made of it: what is asked, read, left out. */
import { h } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { csvField } from '../../forms/readings_choices.js';
import { inFile } from '../../files/in_file.js';
import { lineSentence } from '../../files/readings_file.js';
import { inclinationText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { fixed, listed } from '../../ui/format.js';

/** @typedef {import('../../survey/readings_file/readings_csv.js').CsvResult} CsvResult */
/** @typedef {import('../../files/readings_file.js').ReadingsFile} ReadingsFile */
/** @typedef {import('../../ui/types.js').App} App */

const ROWS_SHOWN = 8;
const LINES_SHOWN = 50;
/** @type {Object<string, import('../../ui/types.js').MessageKey>} */
export const SEPARATORS = {
  ';': 'csv.separator_semicolon',
  '\t': 'csv.separator_tab',
  ',': 'csv.separator_comma',
  '|': 'csv.separator_bar'
};

/**
 * What is used of an earlier file's answers.
 * @param {CsvResult} result
 * @param {() => Promise<void>} forget
 */
export function kept(result, forget) {
  const names = Object.keys(result.known)
    .filter((name) => result.known[name] === 'remembered')
    .map((name) => csvField(name));
  if (names.length === 0) return null;
  return h(
    'div',
    { class: 'card' },
    h('p', null, t('csv.remembered', { names: listed(names) })),
    button(t('csv.forget'), { onclick: () => void forget() })
  );
}

/** What has to be said, above the choices. @param {{header: string[]}} names @param {CsvResult} result */
export function asking(names, result) {
  if (result.asks.length === 0) return [];
  const doubtful = result.asks.map((name) => csvField(name));
  const may = result.asks
    .filter((name) => result.may_be[name]?.length > 1)
    .map((name) =>
      t('csv.may_be', {
        what: csvField(name),
        names: listed(
          result.may_be[name].map((k) => t('csv.quoted', { name: names.header[k] })),
          'disjunction'
        )
      })
    );
  return [
    note(
      'notice',
      h('p', null, h('strong', null, t('csv.asked', { names: listed(doubtful) }))),
      ...may.map((words) => h('p', null, words)),
      h('p', null, t('csv.asked_why'))
    )
  ];
}

/** @param {ReadingsFile} file @param {{header_line: number}} names */
export function firstLines(file, names) {
  const from = file.table.rows.findIndex((row) => row.line >= names.header_line);
  return section(
    t('csv.first_lines'),
    h(
      'div',
      { class: 'table-scroll' },
      h(
        'table',
        { class: 'levels' },
        h(
          'tbody',
          null,
          ...file.table.rows
            .slice(from, from + 5)
            .map((row) =>
              h(
                'tr',
                null,
                h('th', { scope: 'row' }, String(row.line)),
                ...row.cells.slice(0, 12).map((cell) => h('td', null, cell.slice(0, 40)))
              )
            )
        )
      )
    )
  );
}

/**
 * @param {App} app @param {ReadingsFile} file @param {CsvResult} result
 * @param {ReturnType<typeof import('../../files/readings_file.js').beside>} found
 * @param {HTMLInputElement} again
 */
export function previewParts(app, file, result, found, again) {
  const { choices, known, taken, left, notes, unused } = result;
  const unitAssumed =
    known.counter_unit === 'assumed' ? note('notice', h('p', null, t('csv.unit_assumed'))) : null;
  const last = taken[taken.length - 1];
  const facts = [
    t('csv.how_read', {
      charset: file.charset,
      separator: t(SEPARATORS[file.table.separator]),
      decimal: choices.decimal ?? ''
    }),
    known.zero_m === 'assumed'
      ? t('csv.is_assumed', { what: listed([csvField('zero_m'), t('unit.m', { size: '0' })]) })
      : '',
    unused.length ? t('csv.unused', { names: listed(unused) }) : '',
    listed([
      t('csv.new', { n: found.new.length }),
      found.places > 0 && t('csv.places', { n: found.places }),
      found.same > 0 && t('csv.same', { n: found.same })
    ])
  ].filter(Boolean);
  const otherwise = [
    found.other.length ? t('csv.other_values', { n: found.other.length }) : '',
    found.removed.length ? t('csv.removed', { n: found.removed.length }) : '',
    found.gone.length ? t('csv.gone', { n: found.gone.length }) : ''
  ].filter(Boolean);
  return [
    unitAssumed,
    section(
      t('csv.preview'),
      h('ul', { class: 'plain-list' }, ...facts.map((words) => h('li', null, words))),
      taken.length
        ? h(
            'table',
            { class: 'levels' },
            h(
              'tbody',
              null,
              ...taken
                .slice(0, ROWS_SHOWN)
                .map((row) =>
                  h(
                    'tr',
                    null,
                    h('th', { scope: 'row' }, t('csv.row', { line: row.line, m: fixed(row.counter_m, 3) })),
                    h(
                      'td',
                      null,
                      listed([
                        row.inclination ? inclinationText(row.inclination) : t('incl.none'),
                        inFile(row)
                      ])
                    )
                  )
                )
            )
          )
        : null,
      taken.length > ROWS_SHOWN
        ? h(
            'p',
            { class: 'soft num' },
            t('csv.more_rows', { n: taken.length - ROWS_SHOWN, m: fixed(last.counter_m, 3) })
          )
        : null,
      otherwise.length
        ? h(
            'div',
            { class: 'card' },
            h('p', null, t('csv.otherwise_of', { what: listed(otherwise) })),
            found.otherwise ? h('p', null, t('csv.otherwise')) : null,
            h(
              'label',
              { class: 'choice' },
              again,
              h('span', { class: 'choice-dot' }),
              h('span', null, t('csv.overwrite'))
            )
          )
        : null
    ),
    lines(app, t('csv.left', { n: left.length }), left),
    lines(app, t('csv.notes'), notes)
  ];
}

/**
 * @param {App} app
 * @param {string} title
 * @param {import('../../survey/readings_file/readings_csv.js').CsvLine[]} rows
 */
function lines(app, title, rows) {
  if (rows.length === 0) return null;
  return section(
    title,
    h(
      'ul',
      { class: 'plain-list' },
      ...rows
        .slice(0, LINES_SHOWN)
        .map((row) => h('li', null, t('csv.line', { line: row.line, why: lineSentence(app, row) })))
    ),
    rows.length > LINES_SHOWN
      ? h('p', { class: 'soft' }, t('csv.more_lines', { n: rows.length - LINES_SHOWN }))
      : null
  );
}
