/** A reading: what the counter and the inclinometer show, by the number pad. Odd values are said, never refused. */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { button } from '../ui/page.js';
import { clockTime } from '../ui/format.js';
import { jobView, mustRecord } from '../ui/gone.js';
import { snack } from '../ui/snack_bar.js';
import { numberPad, padWindow } from '../ui/number_pad.js';
import { showFaults } from '../forms/form.js';
import { readNumber } from '../forms/checks.js';
import { draftNote, removeKey } from '../forms/record_form.js';
import { insist, once } from '../forms/failure.js';
import { keepDraft, mended } from '../forms/draft.js';
import { segments } from '../forms/field_frame.js';
import { senseOptions, unitOptions } from '../forms/field_inclination.js';
import { inclinationDraft, inclinationIcon, meaning, readInclination } from '../forms/inclination.js';
import { canonical } from '../sync/fold.js';
import { fieldOf } from './describe.js';
import { possibleFindings } from './possible_findings.js';
import { ofRun } from './run_survey.js';
import { t } from '../text/en.js';

/** @param {import('../ui/page.js').Page} page @param {any} params @param {any} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const record = params.id === 'new' ? null : mustRecord(view, 'reading', params.id);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  const field = /** @type {import('../ui/types.js').Field} */ (fieldOf(app, 'reading', 'counter_m'));
  const kept = await app.store.draft(params.path);
  const remembered = (await app.store.setting('inclination')) ?? {};
  const started = start(view, run, record, remembered);
  /** @type {{counter: string, incl: import('../forms/inclination.js').InclinationDraft, record_id: string}} */
  let state = restored(kept, record, started) ?? { ...started, record_id: record?.id ?? app.newId() };

  const draft = keepDraft(app, params.path, () => ({ ...state, aside: kept?.aside }));
  const changed = () => { showFaults(summary, []); show(); draft.touch(); };
  const counter = padWindow({ label: t('pad.counter'), unit: 'm', name: 'counter', oninput: () => { state.counter = counter.input.value; changed(); } });
  const inclination = padWindow({ label: t('pad.inclination'), name: 'inclination', oninput: () => { state.incl.text = inclination.input.value; state.incl.over = false; changed(); } });
  const unit = segments(t('incl.unit'), unitOptions(), (value) => { state.incl.unit = value; state.incl.over = false; changed(); });
  const sense = segments(t('incl.sense'), senseOptions(), (value) => { state.incl.sense = value; if (value === 'level') state.incl.over = false; changed(); });
  const beyond = h('button', { type: 'button', class: 'segment beyond', 'aria-pressed': 'false', onclick: () => { state.incl.over = !state.incl.over; changed(); } }, icon('beyond'), t('incl.beyond'));
  const pad = numberPad([counter, inclination]);
  const summary = h('div', { tabindex: '-1', hidden: true });
  const means = h('p', { class: 'meaning', role: 'status' });
  const warnings = h('div', { class: 'warnings' });
  const noteBox = h('div', null);

  function show() {
    if (counter.input.value !== state.counter) counter.input.value = state.counter;
    if (inclination.input.value !== state.incl.text) inclination.input.value = state.incl.text;
    unit.show(state.incl.over ? null : state.incl.unit);
    const { value, error } = readInclination(state.incl);
    sense.show(value?.sense ?? state.incl.sense); // a typed sign or word outranks the key
    beyond.setAttribute('aria-pressed', String(state.incl.over));
    const typed = state.incl.text.trim() !== '';
    refill(means, value ? [icon(inclinationIcon(value)), h('strong', null, meaning(value))] : (typed && error) || t('reading.prompt'));
    const found = possibleFindings(app, view, run, 'reading', state.record_id, { counter_m: readNumber(field, state.counter).value, inclination: value });
    refill(warnings, ...found.map((words) => h('p', { class: 'warning' }, icon('alert'), h('span', null, words))));
  }

  /** @returns {Object<string, any> | null} */
  function read() {
    const place = readNumber(field, state.counter);
    const { value, error } = readInclination(state.incl);
    const faults = [];
    if (place.error || place.value === null) faults.push({ control: { focus: () => counter.input.focus() }, sentence: place.error ?? t('form.needed_sentence', { label: field.label }) });
    if (!value) faults.push({ control: { focus: () => inclination.input.focus() }, sentence: error ?? t('incl.needed') });
    counter.element.classList.toggle('has-fault', Boolean(place.error || place.value === null));
    inclination.element.classList.toggle('has-fault', !value);
    showFaults(summary, faults);
    return faults.length ? null : { counter_m: place.value, inclination: value };
  }

  const save = once(async (/** @type {boolean} */ andNext) => {
    const fields = read();
    if (!fields) return;
    const done = await insist(app, { what: t('what.reading'), jobId: params.job, typed: () => state }, () => write(app, params, record, started, state.record_id, fields));
    if (!done) return;
    await draft.drop();
    await mended(app, params.job, kept);
    await app.store.setSetting('inclination', { unit: state.incl.unit, sense: fields.inclination.sense });
    app.announce(t('form.saved'));
    if (andNext) await app.go(`${back}/readings/new`, { replace: true });
    else await app.go(back, { replace: true });
    snack(t('reading.saved', { m: fields.counter_m.toFixed(2) }));
  });

  if (kept) {
    refill(noteBox, draftNote(kept, async () => {
      await draft.drop();
      state = { ...structuredClone(started), record_id: state.record_id };
      refill(noteBox);
      show();
      counter.input.focus();
    }));
    app.announce(t('form.draft_restored_at', { time: clockTime(kept.kept_at ?? '') }));
  }
  page.head({
    title: record ? t('reading.one') : t('reading.new'), eyebrow: run.fields.run_ref ?? '?', back, small: true,
    aside: removeKey(app, { jobId: params.job, kind: 'reading', record, back, path: params.path, what: t('what.reading') }),
  });
  page.body(h('form', { class: 'form stack-s', novalidate: true, onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); void save(!record); } },
    noteBox, kept ? null : lastWords(view, run, record), h('div', { class: 'windows' }, counter.element, inclination.element), summary, means, warnings,
    h('button', { type: 'submit', class: 'unseen', tabindex: '-1', 'aria-hidden': 'true' })));
  page.dock(
    h('div', { class: 'sense-row' }, sense.element, h('div', { class: 'segments' }, beyond)), unit.element, pad.element,
    h('div', { class: 'bar-keys' },
      button(t('reading.save'), { tone: record ? 'main-act action' : 'action', onclick: () => void save(false) }),
      record ? null : button(t('reading.save_next'), { tone: 'main-act action', onclick: () => void save(true) })),
  );
  show();
  return draft.stop;
}

/** What the form shows before anybody has typed. @param {any} view @param {any} run @param {any} record @param {any} remembered */
function start(view, run, record, remembered) {
  if (record) {
    const counter = record.fields.counter_m;
    return { counter: counter === undefined || counter === null ? '' : String(counter), incl: inclinationDraft(record.fields.inclination) };
  }
  const last = ofRun(view, run.id, 'reading').at(-1)?.fields.inclination;
  const unit = last?.unit && last.unit !== 'permille' ? last.unit : (remembered.unit ?? 'deg');
  const sense = last?.sense ?? '';
  return { counter: '', incl: { text: '', unit, sense: sense === 'level' ? '' : sense, over: false } };
}

/** @param {any} kept @param {any} record @param {any} started */
function restored(kept, record, started) {
  if (!kept) return null;
  if (kept.mend) {
    const counter = kept.mend.counter_m;
    return {
      counter: counter === undefined ? started.counter : String(counter), record_id: record?.id,
      incl: kept.mend.inclination ? inclinationDraft(kept.mend.inclination) : started.incl,
    };
  }
  return { counter: kept.counter ?? '', incl: kept.incl ?? started.incl, record_id: record?.id ?? kept.record_id };
}

/** @param {any} app @param {any} params @param {any} record @param {any} started @param {string} id @param {Object<string, any>} fields */
async function write(app, params, record, started, id, fields) {
  if (!record) {
    await app.store.save(params.job, 'reading', id, { run_id: params.run, ...fields });
    return true;
  }
  const kept = Object.fromEntries(Object.entries(fields).filter(([name, value]) => canonical(value) !== canonical(record.fields[name] ?? null)));
  if (Object.keys(kept).length) await app.store.save(params.job, 'reading', record.id, kept);
  return true;
}

/** @param {any} view @param {any} run @param {any} record */
function lastWords(view, run, record) {
  const last = ofRun(view, run.id, 'reading').filter((one) => one.id !== record?.id).at(-1);
  if (!last || typeof last.fields.counter_m !== 'number') return h('p', { class: 'soft small' }, t('reading.first'));
  return h('p', { class: 'soft small' }, t('reading.last', { m: last.fields.counter_m.toFixed(2), words: meaning(last.fields.inclination) }));
}

