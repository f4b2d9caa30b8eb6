/** An observation: where, what, and only the fields that this code takes. */
import { h, refill } from '../ui/elements.js';
import { button } from '../ui/page.js';
import { jobView, mustRecord } from '../ui/gone.js';
import { snack } from '../ui/snack_bar.js';
import { live } from '../ui/live.js';
import { numberPad } from '../ui/number_pad.js';
import { picture, releasePictures } from '../ui/picture.js';
import { canonical } from '../sync/fold.js';
import { clockSuggestions, roundStretchAt } from '../survey/run_clock.js';
import { observationForm } from '../forms/observation_form.js';
import { usedCodes } from '../forms/code_picker.js';
import { photoInput } from '../forms/photo_input.js';
import { conflictNote, draftNote, removeKey, shownThen } from '../forms/record_form.js';
import { insist, once } from '../forms/failure.js';
import { keepDraft, mended } from '../forms/draft.js';
import { fieldOf } from './describe.js';
import { possibleFindings } from './possible_findings.js';
import { toolsOf } from './run_figures.js';
import { ofRun } from './run_survey.js';
import { t } from '../text/en.js';

/** @typedef {import('../ui/page.js').Page} Page */

/** @param {Page} page @param {any} params @param {any} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const record = params.id === 'new' ? null : mustRecord(view, 'observation', params.id);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  const kept = await app.store.draft(params.path);
  const recordId = record?.id ?? kept?.record_id ?? app.newId();
  const standing = record?.fields ?? firstValues(view, params);
  const form = observationForm({
    rows: app.tables.observation_codes.rows, used: usedCodes(view), observations: ofRun(view, run.id, 'observation'), recordId,
    field: (name) => /** @type {any} */ (fieldOf(app, 'observation', name)),
    findings: (fields) => possibleFindings(app, view, run, 'observation', recordId, fields),
    touched: () => draft.touch(),
    offAxis: (counterM, hours) => offAxis(view, run.id, counterM, hours),
  });
  // What the person saw: of a draft, the record as it stood when the draft was begun.
  const opened = { fields: kept?.opened ?? record?.fields ?? {}, shown: shownThen(kept, null, record?.standing) };
  const draft = keepDraft(app, params.path, () => ({
    raw: form.raw(), record_id: recordId, opened: opened.fields, shown: opened.shown, aside: kept?.aside,
  }));
  const photos = photosPart(app, params, run, recordId, form.place, () => draft.touch());
  const noteBox = h('div', null);

  const save = once(async (/** @type {boolean} */ andNext) => {
    const fields = form.read();
    if (!fields) return;
    const about = { what: t('what.observation'), jobId: params.job, typed: form.raw };
    if (!(await insist(app, about, () => write(app, params, record, opened, recordId, fields)))) return;
    await draft.drop();
    await mended(app, params.job, kept);
    app.announce(t('form.saved'));
    await app.go(andNext ? `${back}/observations/new` : back, { replace: true });
    snack(t('obs.saved', { code: fields.code, m: fields.counter_m.toFixed(2) }));
  });

  form.fill({ ...standing, ...kept?.mend });
  if (kept && !kept.mend) form.setRaw(kept.raw ?? {});
  if (kept) {
    refill(noteBox, draftNote(kept, async () => { await draft.drop(); Object.assign(opened, { fields: record?.fields ?? {}, shown: record?.standing }); form.fill(standing); refill(noteBox); page.focus(); }));
    app.announce(t('form.draft_restored'));
  }
  page.head({
    title: record ? t('obs.one') : t('obs.new'), eyebrow: run.fields.run_ref ?? '?', back, small: true,
    aside: removeKey(app, { jobId: params.job, kind: 'observation', record, back, path: params.path, what: t('what.observation') }),
  });
  const { summary, place, rest } = form.elements;
  page.body(h(
    'form', { class: 'form', novalidate: true, onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); void save(false); } },
    h('div', { class: 'fields' }, summary, noteBox, conflictNote(record, params.job), ...place, ...rest, photos.element),
  ));
  dockOf(page, form.counter, [
    record ? null : button(t('reading.save_next'), { tone: 'action', onclick: () => void save(true) }),
    button(t('obs.save'), { tone: 'main-act action', onclick: () => void save(false) }),
  ]);
  const stop = await live(app, params.job, photos.show);
  return () => {
    stop();
    releasePictures();
  };
}

/** @param {any} app @param {any} params @param {any} record @param {{fields: any, shown: any}} opened @param {string} id @param {Object<string, any>} fields */
async function write(app, params, record, opened, id, fields) {
  const base = record ? opened.fields : {};
  const kept = Object.fromEntries(Object.entries(fields).filter(([name, value]) => canonical(value) !== canonical(base[name] ?? null)));
  const change = record ? kept : { run_id: params.run, ...kept };
  if (Object.keys(change).length) await app.store.save(params.job, 'observation', id, change, record ? opened.shown : undefined);
  return true;
}

/** The photos of an observation. They are in the store as soon as they are taken, whether or not it is saved.
 * @param {any} app @param {any} params @param {any} run @param {string} recordId @param {() => number | null} place @param {() => void} touched */
function photosPart(app, params, run, recordId, place, touched) {
  const tiles = h('div', { class: 'photos' });
  const show = async () => {
    const now = await app.store.job(params.job);
    const found = [];
    for (const one of ofRun(now, run.id, 'photo').filter((photo) => photo.fields.belongs_to === recordId)) {
      const words = h('span', { class: 'photo-words' }, one.fields.caption || t('photo.no_caption'));
      found.push(h('a', { class: 'photo-tile', href: `/jobs/${params.job}/photos/${one.id}` }, await picture(app, one, { captioned: true }), words));
    }
    refill(tiles, ...found);
  };
  const about = () => ({ belongs_to: recordId, run_id: run.id, counter_m: place() ?? undefined });
  const input = photoInput(app, params.job, about, async () => { await show(); touched(); });
  return { show, element: h('section', { class: 'stack-s' }, h('h2', null, t('photos.title')), tiles, input.element) };
}

/** The pad is there while the counter is being typed; else the keys stand alone.
 * @param {Page} page @param {{element: HTMLElement, input: HTMLInputElement}} counter @param {Array<Node | null>} keys */
function dockOf(page, counter, keys) {
  const pad = numberPad([counter]).element;
  page.dock(pad, h('div', { class: 'bar-keys' }, ...keys));
  pad.hidden = true;
  counter.input.addEventListener('focus', () => { pad.hidden = false; });
  counter.input.addEventListener('blur', () => { pad.hidden = true; });
}

/** What the height of the camera makes of hours seen; null where height or pipe is not known.
 * @param {any} view @param {string} runId @param {number | null} counterM @param {number[]} hours */
function offAxis(view, runId, counterM, hours) {
  const cameraMm = toolsOf(view, runId).camera_height_mm;
  const stretch = counterM === null || cameraMm === null ? null : roundStretchAt(ofRun(view, runId, 'stretch'), counterM);
  if (!stretch || cameraMm === null) return null;
  const { height_mm: sizeMm, size_known: known } = stretch.fields;
  return { cameraMm, sizeMm, known: known ?? null, rows: clockSuggestions(sizeMm, cameraMm, hours) };
}

/** A new observation; with ?finish= it finishes what runs. @param {any} view @param {any} params */
function firstValues(view, params) {
  const started = params.query.get('finish') ? view.record('observation', params.query.get('finish')) : null;
  if (!started?.fields.continuous) return {};
  const { code, characterisation_1, characterisation_2, clock, continuous } = started.fields;
  return { code, characterisation_1, characterisation_2, clock, continuous: { role: 'finish', number: continuous.number } };
}
