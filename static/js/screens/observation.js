/** An observation: where, what, and only the fields that this code takes. */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { button } from '../ui/page.js';
import { jobView, mustRecord } from '../ui/gone.js';
import { snack } from '../ui/snack_bar.js';
import { live } from '../ui/live.js';
import { numberPad, padWindow } from '../ui/number_pad.js';
import { picture, releasePictures } from '../ui/picture.js';
import { findCode } from '../survey/codes.js';
import { canonical } from '../sync/fold.js';
import { showFaults } from '../forms/form.js';
import { readNumber } from '../forms/checks.js';
import { codeFields } from '../forms/observation_fields.js';
import { codePicker, usedCodes } from '../forms/code_picker.js';
import { continuousField } from '../forms/continuous_field.js';
import { textControl } from '../forms/fields_plain.js';
import { photoInput } from '../forms/photo_input.js';
import { draftNote, removeKey } from '../forms/record_form.js';
import { insist, once } from '../forms/failure.js';
import { keepDraft, mended } from '../forms/draft.js';
import { fieldOf } from './describe.js';
import { possibleFindings } from './possible_findings.js';
import { ofRun } from './run_survey.js';
import { t } from '../text/en.js';

/** @param {import('../ui/page.js').Page} page @param {any} params @param {any} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const record = params.id === 'new' ? null : mustRecord(view, 'observation', params.id);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  const kept = await app.store.draft(params.path);
  const recordId = record?.id ?? kept?.record_id ?? app.newId();
  const rows = app.tables.observation_codes.rows;
  const field = (/** @type {string} */ name) => /** @type {any} */ (fieldOf(app, 'observation', name));
  const observations = ofRun(view, run.id, 'observation');
  const standing = record?.fields ?? firstValues(view, params);

  /** @type {Map<string, import('../ui/types.js').Control>} */
  let controls = new Map();
  const summary = h('div', { tabindex: '-1', hidden: true });
  const noteBox = h('div', null);
  const warnings = h('div', { class: 'warnings' });
  const codePlace = h('div', { class: 'fields' });
  const photoPlace = h('div', { class: 'photos' });
  const counter = padWindow({ label: t('pad.counter'), unit: 'm', name: 'counter', oninput: () => changed() });
  const pad = numberPad([counter]);
  const picker = codePicker(rows, usedCodes(view), (code) => { setCode(code, {}); changed(); });
  const continuous = continuousField(observations, recordId, () => changed());
  const remark = textControl(field('remark'), () => changed());
  const photos = photoInput(app, params.job, () => ({ belongs_to: recordId, run_id: run.id, counter_m: place() ?? undefined }), async () => { await showPhotos(); draft.touch(); });
  const draft = keepDraft(app, params.path, () => ({ raw: raw(), record_id: recordId, aside: kept?.aside }));

  const place = () => readNumber(field('counter_m'), counter.input.value).value;
  const raw = () => ({
    counter: counter.input.value, code: picker.get(), continuous: continuous.get(), remark: remark.raw(),
    parts: Object.fromEntries([...controls].map(([name, control]) => [name, control.raw()])),
  });
  function changed() {
    const found = possibleFindings(app, view, run, 'observation', recordId, { counter_m: place(), ...(picker.get() ? { code: picker.get() } : {}) });
    refill(warnings, ...found.map((words) => h('p', { class: 'warning' }, icon('alert'), h('span', null, words))));
    draft.touch();
  }
  /** @param {string} code @param {Object<string, any>} values */
  function setCode(code, values) {
    const row = findCode(rows, code);
    controls = row ? codeFields(row, field, () => changed()) : new Map();
    for (const [name, control] of controls) control.setValue(values[name] ?? null);
    continuous.setCode(code);
    continuous.element.hidden = !row?.continuous && !continuous.get();
    refill(codePlace, ...[...controls.values()].map((control) => control.element));
  }
  /** @param {Object<string, any>} values */
  function fill(values) {
    counter.input.value = values.counter_m === null || values.counter_m === undefined ? '' : String(values.counter_m);
    picker.set(values.code ?? '');
    continuous.set(values.continuous);
    setCode(values.code ?? '', values);
    remark.setValue(values.remark);
  }
  /** @param {any} draftRaw */
  function refillRaw(draftRaw) {
    counter.input.value = draftRaw.counter ?? '';
    picker.set(draftRaw.code ?? '');
    continuous.set(draftRaw.continuous);
    setCode(draftRaw.code ?? '', {});
    for (const [name, value] of Object.entries(draftRaw.parts ?? {})) controls.get(name)?.setRaw(value);
    remark.setRaw(draftRaw.remark);
  }
  async function showPhotos() {
    const now = await app.store.job(params.job);
    const mine = ofRun(now, run.id, 'photo').filter((one) => one.fields.belongs_to === recordId);
    const tiles = [];
    for (const one of mine) tiles.push(h('a', { class: 'photo-tile', href: `/jobs/${params.job}/photos/${one.id}` }, await picture(app, one, { captioned: true }), h('span', { class: 'photo-words' }, one.fields.caption || t('photo.no_caption'))));
    refill(photoPlace, ...tiles);
  }

  /** @returns {Object<string, any> | null} */
  function read() {
    /** @type {Array<{control: {focus: () => void}, sentence: string}>} */
    const faults = [];
    /** @param {{focus: () => void, fault?: (sentence: string) => void}} control @param {{value: any, error?: string}} got @param {string} [needed] */
    const take = (control, got, needed) => {
      const sentence = got.error ?? (needed && got.value === null ? needed : '');
      control.fault?.(sentence);
      if (sentence) faults.push({ control, sentence });
      return got.value;
    };
    const needs = (/** @type {string} */ name) => t('form.needed_sentence', { label: field(name).label });
    /** @type {Object<string, any>} */
    const out = {
      counter_m: take({ focus: () => counter.input.focus() }, readNumber(field('counter_m'), counter.input.value), needs('counter_m')),
      code: take(picker, { value: picker.get() || null }, needs('code')),
    };
    for (const name of ['characterisation_1', 'characterisation_2', 'quantification_1', 'quantification_2', 'clock', 'at_joint']) {
      const control = controls.get(name);
      out[name] = control ? take(control, control.read()) : null;
    }
    out.continuous = continuous.get();
    out.remark = take(remark, remark.read());
    counter.element.classList.toggle('has-fault', out.counter_m === null);
    showFaults(summary, faults);
    return faults.length ? null : out;
  }
  const save = once(async (/** @type {boolean} */ andNext) => {
    const fields = read();
    if (!fields) return;
    const base = record?.fields ?? {};
    const kept = Object.fromEntries(Object.entries(fields).filter(([name, value]) => canonical(value) !== canonical(base[name] ?? null)));
    const done = await insist(app, { what: t('what.observation'), jobId: params.job, typed: raw }, async () => {
      const change = record ? kept : { run_id: run.id, ...kept };
      if (Object.keys(change).length) await app.store.save(params.job, 'observation', recordId, change);
      return true;
    });
    if (!done) return;
    await draft.drop();
    await mended(app, params.job, kept);
    app.announce(t('form.saved'));
    await app.go(andNext ? `${back}/observations/new` : back, { replace: true });
    snack(t('obs.saved', { code: fields.code, m: fields.counter_m.toFixed(2) }));
  });

  fill(standing);
  if (kept?.mend) fill({ ...standing, ...kept.mend });
  else if (kept) refillRaw(kept.raw ?? {});
  if (kept) {
    refill(noteBox, draftNote(kept, async () => { await draft.drop(); fill(standing); refill(noteBox); page.focus(); }));
    app.announce(t('form.draft_restored'));
  }
  page.head({
    title: record ? t('obs.one') : t('obs.new'), eyebrow: run.fields.run_ref ?? '?', back, small: true,
    aside: removeKey(app, { jobId: params.job, kind: 'observation', record, back, path: params.path, what: t('what.observation') }),
  });
  page.body(h(
    'form', { class: 'form', novalidate: true, onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); void save(false); } },
    h('div', { class: 'fields' }, summary, noteBox, counter.element, warnings, picker.element, codePlace, continuous.element, remark.element,
      h('section', { class: 'stack-s' }, h('h2', null, t('photos.title')), photoPlace, photos.element)),
  ));
  dockOf(page, counter.input, pad.element, [
    record ? null : button(t('reading.save_next'), { tone: 'action', onclick: () => void save(true) }),
    button(t('obs.save'), { tone: 'main-act action', onclick: () => void save(false) }),
  ]);
  const stop = await live(app, params.job, showPhotos);
  return () => {
    stop();
    releasePictures();
    draft.stop();
  };
}

/** The pad is there while the counter is being typed; else the keys stand alone.
 * @param {import('../ui/page.js').Page} page @param {HTMLInputElement} input @param {HTMLElement} pad @param {Array<Node | null>} keys */
function dockOf(page, input, pad, keys) {
  const row = h('div', { class: 'bar-keys' }, ...keys);
  page.dock(pad, row);
  pad.hidden = true;
  input.addEventListener('focus', () => { pad.hidden = false; });
  input.addEventListener('blur', () => { pad.hidden = true; });
}

/** A new observation; with ?finish= it finishes what runs. @param {any} view @param {any} params */
function firstValues(view, params) {
  const started = params.query.get('finish') ? view.record('observation', params.query.get('finish')) : null;
  if (!started?.fields.continuous) return {};
  const { code, characterisation_1, characterisation_2, clock, continuous } = started.fields;
  return { code, characterisation_1, characterisation_2, clock, continuous: { role: 'finish', number: continuous.number } };
}
