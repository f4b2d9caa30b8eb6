/** Readings from a CSV file of another instrument: everything is shown before anything is made. */
import { h, refill } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { snack } from '../../ui/snack_bar.js';
import { selectControl } from '../../forms/fields/fields_plain.js';
import { insist, once } from '../../forms/failure.js';
import { fileKey } from '../../files/file_key.js';
import { asRead } from '../../forms/fields/inclination.js';
import { csvField, readingsChoices } from '../../forms/readings_choices.js';
import {
  beside,
  faultSentence,
  inFile,
  keep,
  lineSentence,
  makeReadings,
  namesOf,
  openReadings,
  parted,
  readFile,
  remember,
  remembered,
  unmake
} from '../../files/readings_file.js';
import { t } from '../../text/words.js';
import { fixed, listed } from '../../ui/format.js';

/** @typedef {import('../../survey/readings_file/readings_csv.js').CsvResult} CsvResult */
/** @typedef {import('../../files/readings_file.js').ReadingsFile} ReadingsFile */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */

const ROWS_SHOWN = 8;
const LINES_SHOWN = 50;
/** @type {Object<string, any>} */
const SEPARATORS = {
  ';': 'csv.separator_semicolon',
  '\t': 'csv.separator_tab',
  ',': 'csv.separator_comma',
  '|': 'csv.separator_bar'
};

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const back = `/jobs/${params.job}/runs/${params.run}`;
  const run = mustRecord(await jobView(app, params.job), 'run', params.run);
  const status = h('div', { role: 'status' });
  const shown = h('div', { class: 'stack' });
  const key = fileKey(
    t('csv.choose'),
    'sheet',
    { accept: '.csv,.txt,.tsv,text/csv,text/plain' },
    'main-act action wide'
  );
  key.input.addEventListener('change', () => void choose());
  page.head({ title: t('csv.open'), eyebrow: run.fields.run_ref ?? '?', back, small: true });
  page.body(h('p', { class: 'soft' }, t('csv.why')), key.element, status, shown);

  async function choose() {
    const [chosen] = key.input.files ?? [];
    if (!chosen) return;
    key.input.value = '';
    page.bar();
    refill(shown);
    refill(status, h('p', null, t('csv.reading')));
    try {
      await show(await openReadings(app, chosen));
    } catch (error) {
      refill(status, note('fault', h('p', null, `${chosen.name}: ${faultSentence(app, error)}`)));
    }
  }

  /** @param {ReadingsFile} file */
  async function show(file) {
    const names = namesOf(app, file);
    let earlier = await remembered(app, names);
    const preview = h('div', { class: 'stack' });
    const question = h('div', { role: 'status' });
    const again = h('input', { type: 'checkbox', onchange: () => void draw() });
    const choices = readingsChoices(names.header, names.rows, () => void draw());
    const look = async () => {
      const result = readFile(app, file, { ...choices.read(), remembered: earlier });
      const view = await jobView(app, params.job);
      const found = beside(view, params.run, file, result.taken);
      return { result, view, found, rows: toMake(result, found, again.checked) };
    };
    const take = once(async () => {
      const made = await insist(app, { what: t('what.readings'), jobId: params.job }, async () => {
        const { result, view, rows } = await look(); // what came in meanwhile is not made twice
        const undo = await makeReadings(app, params.job, view, rows);
        await remember(app, result);
        return undo;
      });
      if (!made) return;
      await app.go(back, { replace: true });
      const words = t('csv.taken', { n: made.length });
      app.announce(words);
      snack(words, { label: t('form.undo'), act: () => unmake(app, params.job, made) });
    });
    const forget = async () => {
      await keep(app, names, null);
      earlier = null;
      await draw();
    };
    const draw = async () => {
      const { result, found, rows } = await look();
      choices.show(result);
      refill(question, ...asking(names, result), kept(result, forget));
      refill(
        preview,
        ...(result.asks.length ? [firstLines(file, names)] : previewParts(app, file, result, found, again))
      );
      const label = rows.length ? t('csv.take', { n: rows.length }) : t('csv.nothing');
      const main = button(label, { tone: 'main-act action', key: 'take', onclick: () => void take() });
      main.toggleAttribute('disabled', rows.length === 0);
      page.bar(result.asks.length ? null : main);
    };
    await draw();
    refill(status, h('p', { class: 'strong' }, file.name));
    refill(shown, question, section(t('csv.columns'), choices.element, separatorChoice(file)), preview);
  }

  /**
   * What stands between the cells can be said too: all columns follow from it.
   * @param {ReadingsFile} file
   * @returns {HTMLElement}
   */
  function separatorChoice(file) {
    const signs = Object.entries(SEPARATORS).map(([value, words]) => ({ value, label: t(words) }));
    const control = selectControl(
      { name: 'separator', label: t('csv.separator'), type: 'choice', choices: signs },
      () => {
        const { value } = control.read();
        parted(app, file, value ?? '')
          .then(show)
          .catch((error) =>
            refill(status, note('fault', h('p', null, `${file.name}: ${faultSentence(app, error)}`)))
          );
      }
    );
    control.setValue(file.table.separator);
    return control.element;
  }
}

/**
 * What one press makes; nothing beside readings of the same file with other answers.
 * @param {CsvResult} result
 * @param {ReturnType<typeof beside>} found
 * @param {boolean} overwrite
 */
function toMake(result, found, overwrite) {
  if (result.asks.length > 0) return [];
  if (overwrite) return [...found.new, ...found.other, ...found.removed, ...found.gone];
  return found.otherwise ? [] : found.new;
}

/**
 * What is used of an earlier file's answers.
 * @param {CsvResult} result
 * @param {() => Promise<void>} forget
 */
function kept(result, forget) {
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
function asking(names, result) {
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
function firstLines(file, names) {
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
 * @param {ReturnType<typeof beside>} found @param {HTMLInputElement} again
 */
function previewParts(app, file, result, found, again) {
  const { choices, known, taken, left, notes, unused } = result;
  const unitAssumed =
    known.counter_unit === 'assumed' ? note('notice', h('p', null, t('csv.unit_assumed'))) : null;
  const last = taken[taken.length - 1];
  const facts = [
    t('csv.how_read', {
      charset: file.charset,
      separator: t(SEPARATORS[file.table.separator]),
      decimal: choices.decimal
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
                    h('td', null, listed([asRead(row.inclination), inFile(row)]))
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
