/** An observation: where, what, and only the fields that this code takes. */
import { h, refill } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { fixed, listed, metres } from '../../ui/format.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { snack } from '../../ui/snack_bar.js';
import { live } from '../../ui/live.js';
import { padDock } from '../../ui/pad_dock.js';
import { releasePictures } from '../../ui/picture.js';
import { canonical } from '../../records/fold.js';
import { continuousItems } from '../../survey/coding/continuous.js';
import { searchCodes } from '../../survey/coding/code_search.js';
import { findCode } from '../../survey/coding/codes.js';
import { closedStretches } from '../../survey/coding/run_end.js';
import { clockSuggestions, roundStretchAt } from '../../survey/coding/run_clock.js';
import { offeredPlace } from '../../forms/counter_place.js';
import { controlFor } from '../../forms/form.js';
import { observationForm } from '../../forms/observation_form.js';
import { usedCodes } from '../../forms/code_picker.js';
import { conflictNote, draftNote, removeKey, shownThen } from '../../forms/record_form.js';
import { insist, once } from '../../forms/failure.js';
import { keepDraft, mended } from '../../forms/draft.js';
import { fieldOf, furtherFields } from '../parts/describe.js';
import { photosPart } from './observation_photos.js';
import { quantityWords } from '../parts/running.js';
import { possibleFindings } from './possible_findings.js';
import { toolsOf } from '../parts/figures_of.js';
import { ofRun } from '../parts/run_survey.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/page.js').Page} Page */

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunRecordParams} RunRecordParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../ui/types.js').CodeRow} CodeRow */
/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../ui/types.js').Standing} Standing */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../forms/observation_form.js').ObservationDraft} ObservationDraft */

/** @param {Page} page @param {RunRecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const record = params.id === 'new' ? null : mustRecord(view, 'observation', params.id);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  /** @type {import('../../forms/draft.js').Draft<ObservationDraft> | undefined} */
  const kept = await app.store.draft(params.path);
  const recordId = record?.id ?? kept?.record_id ?? app.newId();
  const observations = ofRun(view, run.id, 'observation');
  const going = record ? null : runningItem(observations, params);
  const last = record ? null : offeredPlace(view, run);
  const requested = record ? {} : requestedIn(params.query);
  const whence = 'counter_m' in requested ? undefined : last?.whence;
  const standing = record?.fields ?? { counter_m: last?.counter_m, ...firstValues(going), ...requested };
  const dock = padDock(page);
  const { observation_codes: table, usual_observations: usual } = app.tables;
  const form = observationForm({
    rows: table.rows,
    search: (text, limit) => searchCodes(table, text, limit),
    usual: usual.rows,
    used: usedCodes(view),
    brief: going?.role === 'change',
    observations,
    ofJob: view.records('observation'),
    recordId,
    field: (name) => fieldOf(app, 'observation', name),
    further: furtherFields(app).map((field) =>
      controlFor(field, () => draft.touch(), { app, view, runId: run.id })
    ),
    findings: (fields) => possibleFindings(app, view, run, 'observation', recordId, fields),
    touched: () => draft.touch(),
    changeChosen: (row) => void leaveFor(row),
    pad: dock.serve,
    offAxis: (counterM, hours) => offAxis(view, run.id, counterM, hours)
  });
  /**
   * A change of the pipe is no observation: its own form, at the place given here.
   * @param {import('../../ui/types.js').PipeChange} row
   */
  const leaveFor = async (row) => {
    const counterM = form.place();
    await draft.drop();
    await app.go(`${back}/change?field=${row.change}${counterM === null ? '' : `&at=${counterM}`}`, {
      replace: true
    });
  };
  // What the person saw: of a draft, the record as it stood when the draft was begun.
  const opened = {
    fields: kept?.opened ?? record?.fields ?? {},
    shown: shownThen(kept, null, record?.standing)
  };
  const draft = keepDraft(app, params.path, () => ({
    raw: form.raw(),
    record_id: recordId,
    opened: opened.fields,
    shown: opened.shown,
    aside: kept?.aside
  }));
  const photos = photosPart(app, params, run, recordId, form.place, () => draft.touch());
  const noteBox = h('div', null);

  const save = once(async (/** @type {boolean} */ andNext) => {
    const read = form.read();
    if (!read) return;
    const fields = 'counter_part' in requested ? { ...read, counter_part: requested.counter_part } : read;
    const about = { what: t('what.observation'), jobId: params.job, typed: form.raw };
    if (!(await insist(app, about, () => write(app, params, record, opened, recordId, fields)))) return;
    await draft.drop();
    await mended(app, params.job, kept);
    app.announce(t('form.saved'));
    await app.go(andNext ? `${back}/observations/new` : back, { replace: true });
    snack(t('obs.saved', { code: fields.code, m: fixed(fields.counter_m, 2) }));
  });

  form.fill({ ...standing, ...kept?.mend }, whence);
  if (kept && !kept.mend) form.setRaw(kept.raw ?? {});
  if (kept) {
    refill(
      noteBox,
      draftNote(kept, async () => {
        await draft.drop();
        Object.assign(opened, { fields: record?.fields ?? {}, shown: record?.standing });
        form.fill(standing, whence);
        refill(noteBox);
        page.focus();
      })
    );
    app.announce(t('form.draft_restored'));
  }
  page.head({
    title: headWords(table.rows, going, record),
    eyebrow: run.fields.run_ref ?? '?',
    back,
    small: true,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'observation',
      record,
      back,
      path: params.path,
      what: t('what.observation')
    })
  });
  const { summary, place, quantities, rest } = form.elements;
  const parts = [...rest, photos.element];
  // What finishes or changes has its code already: the place is asked, of a change how much of it, and the
  // rest is a tap away.
  const folded = going?.role === 'finish' || quantities.hasChildNodes();
  page.body(
    h(
      'form',
      {
        class: 'form',
        novalidate: true,
        onsubmit: (/** @type {Event} */ event) => {
          event.preventDefault();
          void save(false);
        }
      },
      h(
        'div',
        { class: 'fields' },
        summary,
        noteBox,
        conflictNote(record, params.job),
        going ? since(table.rows, going.item) : null,
        ...place,
        quantities,
        ...(folded ? [h('details', null, h('summary', null, t('running.rest')), ...parts)] : parts)
      )
    )
  );
  dock.show([
    record || going ? null : button(t('reading.save_next'), { tone: '', onclick: () => void save(true) }),
    button(t('obs.save'), { tone: 'main-act', onclick: () => void save(false) })
  ]);
  const stop = await live(app, params.job, photos.show);
  return () => {
    stop();
    releasePictures();
  };
}

/**
 * @param {App} app
 * @param {RunRecordParams} params
 * @param {ObservationRecord | null} record
 * @param {{fields: FieldsByName, shown: Standing | undefined}} opened
 * @param {string} id
 * @param {ObservationFields} fields
 */
async function write(app, params, record, opened, id, fields) {
  const base = record ? opened.fields : {};
  const kept = Object.fromEntries(
    Object.entries(fields).filter(([name, value]) => canonical(value) !== canonical(base[name] ?? null))
  );
  const change = record ? kept : { run_id: params.run, ...kept };
  if (Object.keys(change).length)
    await app.store.save(params.job, 'observation', id, change, record ? opened.shown : undefined);
  return true;
}

/** What the height of the camera makes of hours seen; null where height or pipe is not known.
 * @param {JobView} view @param {string} runId @param {number | null} counterM @param {number[]} hours */
function offAxis(view, runId, counterM, hours) {
  const cameraMm = toolsOf(view, runId).camera_height_mm;
  const stretch =
    counterM === null || cameraMm === null
      ? null
      : roundStretchAt(closedStretches(ofRun(view, runId, 'stretch'), counterM), counterM);
  if (!stretch || cameraMm === null) return null;
  const { height_mm, size_known: provenance } = stretch.fields;
  const sizeMm = Number(height_mm); // it is there: roundStretchAt asked
  return { cameraMm, sizeMm, known: provenance ?? null, rows: clockSuggestions(sizeMm, cameraMm, hours) };
}

/** @typedef {import('../../survey/coding/continuous.js').ContinuousItem} ContinuousItem */
/** @typedef {{role: 'finish' | 'change', item: ContinuousItem}} Going */

/**
 * What ?finish= or ?change= names, if it still runs.
 * @param {ObservationRecord[]} observations
 * @param {RunRecordParams} params
 * @returns {Going | null}
 */
function runningItem(observations, params) {
  const role = params.query.get('finish') ? 'finish' : 'change';
  const item = continuousItems(observations, null).items.find(
    (one) => one.open && one.start_id === params.query.get(role)
  );
  return item ? { role, item } : null;
}

/**
 * What a finish or a change shares with what runs; its quantity is not among that.
 * @param {Going | null} going
 */
function firstValues(going) {
  if (!going) return {};
  const { code, characterisation_1, characterisation_2, clock } =
    going.item.parts[going.item.parts.length - 1].fields;
  return {
    code,
    characterisation_1,
    characterisation_2,
    clock,
    continuous: { role: going.role, number: going.item.number }
  };
}

/** A code and a place that the address of a new observation brings with it. @param {URLSearchParams} query */
function requestedIn(query) {
  const [code, counter, part] = ['code', 'counter_m', 'counter_part'].map((name) => query.get(name) ?? '');
  return {
    .../** @type {{code?: string}} */ (/^[A-Z]{1,4}[A-Z0-9]{0,4}$/.test(code) ? { code } : {}),
    .../** @type {{counter_m?: number}} */ (
      /^\d+(\.\d+)?$/.test(counter) ? { counter_m: Number(counter) } : {}
    ),
    .../** @type {{counter_part?: number}} */ (/^[1-9]\d?$/.test(part) ? { counter_part: Number(part) } : {})
  };
}

/** @param {CodeRow[]} rows @param {Going | null} going @param {ObservationRecord | null} record */
function headWords(rows, going, record) {
  if (going)
    return t(going.role === 'finish' ? 'running.finishes' : 'running.changes', {
      title: titleOf(rows, going.item)
    });
  return t(record ? 'obs.one' : 'obs.new');
}

/** @param {CodeRow[]} rows @param {ContinuousItem} item */
function titleOf(rows, item) {
  return findCode(rows, item.code)?.title ?? item.code;
}

/**
 * What runs, since where, and how much of it.
 * @param {CodeRow[]} rows
 * @param {ContinuousItem} item
 */
function since(rows, item) {
  const words = t('running.since', { code: item.code, n: item.number, m: metres(item.from_counter_m) });
  return h('p', { class: 'soft' }, listed([words, quantityWords(rows, item)]));
}
