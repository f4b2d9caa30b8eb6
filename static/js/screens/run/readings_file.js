/** Readings from a CSV file of another instrument: everything is shown before anything is made. */
import { h, refill } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { snack } from '../../ui/snack_bar.js';
import { selectControl } from '../../forms/fields/fields_plain.js';
import { insist, once } from '../../forms/failure.js';
import { fileKey } from '../../files/file_key.js';
import { readingsChoices } from '../../forms/readings_choices.js';
import {
  beside,
  faultSentence,
  keep,
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
import { asking, firstLines, kept, previewParts, SEPARATORS } from './readings_preview.js';

/** @typedef {import('../../survey/readings_file/readings_csv.js').CsvResult} CsvResult */
/** @typedef {import('../../files/readings_file.js').ReadingsFile} ReadingsFile */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */

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
      refill(
        status,
        note(
          'fault',
          h('p', null, t('value.labelled', { label: chosen.name, value: faultSentence(app, error) }))
        )
      );
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
            refill(
              status,
              note(
                'fault',
                h('p', null, t('value.labelled', { label: file.name, value: faultSentence(app, error) }))
              )
            )
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
