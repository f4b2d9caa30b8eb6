/**
 * A reading: what the counter and the inclinometer show, by the number pad. Odd values are said, never
 * refused.
 */
import { h, refill } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { clockTime, fixed, metres } from '../../ui/format.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { snack } from '../../ui/snack_bar.js';
import { conflictNote, draftNote, removeKey, shownThen } from '../../forms/record_form.js';
import { insist, once } from '../../forms/failure.js';
import { keepDraft, mended } from '../../forms/draft.js';
import { offeredPlace } from '../../forms/counter_place.js';
import { resetDraft } from '../../forms/counter_reset.js';
import { partControl } from '../../forms/fields/field_counter_part.js';
import { inclinationDraft, meaning } from '../../forms/fields/inclination.js';
import { readingForm } from '../../forms/reading_form.js';
import { canonical } from '../../records/fold.js';
import { fieldOf } from '../parts/describe.js';
import { foundIf } from '../observation/possible_findings.js';
import { ofRun } from '../parts/run_survey.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunRecordParams} RunRecordParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/** @typedef {import('../../forms/reading_form.js').ReadingDraft} ReadingDraft */
/** @typedef {import('../../records/types.js').ReadingFields} ReadingFields */
/** @typedef {import('../../forms/draft.js').Draft & Partial<ReadingDraft> & {part?: number | null}} Kept */
/** @typedef {{unit?: import('../../records/types.js').InclinationUnit}} Remembered   from the reading before */
/** @typedef {{fields: import('../../ui/types.js').FieldsByName, shown?: import('../../ui/types.js').Standing}} Opened */

/** @param {import('../../ui/page.js').Page} page @param {RunRecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const record = params.id === 'new' ? null : mustRecord(view, 'reading', params.id);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  /** @type {Kept | undefined} */
  const kept = await app.store.draft(params.path);
  /** @type {Remembered} */
  const remembered = (await app.store.setting('inclination')) ?? {};
  const started = {
    ...start(view, run, record, remembered),
    record_id: record?.id ?? kept?.record_id ?? app.newId()
  };
  const state = restored(kept, started) ?? structuredClone(started);
  const offered = record ? null : offeredPlace(view, run);
  const form = readingForm({
    state,
    offered: offered?.counter_m ?? null,
    field: fieldOf(app, 'reading', 'counter_m'),
    before: () => readingBefore(view, run, state.record_id)?.fields.counter_m ?? null,
    findings: (fields) => foundIf(app, view, run, 'reading', state.record_id, fields),
    touched: () => draft.touch()
  });
  const part = partControl(fieldOf(app, 'reading', 'counter_part'), () => draft.touch(), {
    view,
    runId: run.id
  });
  part.setValue(kept?.mend?.counter_part ?? kept?.part ?? record?.fields.counter_part ?? null);
  // What the person saw: of a draft, the record as it stood when the draft was begun.
  const opened = {
    fields: kept?.opened ?? record?.fields ?? {},
    shown: shownThen(kept, null, record?.standing)
  };
  const draft = keepDraft(app, params.path, () => ({
    ...state,
    part: part.read().value,
    opened: opened.fields,
    shown: opened.shown,
    aside: kept?.aside
  }));
  const noteBox = h('div', null);

  const save = once(async (/** @type {boolean} */ andNext) => {
    const read = form.read();
    if (!read) return;
    const fields = { ...read, counter_part: part.read().value };
    const about = { what: t('what.reading'), jobId: params.job, typed: () => state };
    if (!(await insist(app, about, () => write(app, params, record, opened, state.record_id, fields))))
      return;
    await draft.drop();
    await mended(app, params.job, kept);
    await app.store.setSetting('inclination', { unit: state.incl.unit, sense: fields.inclination.sense });
    app.announce(t('form.saved'));
    await app.go(andNext ? `${back}/readings/new` : back, { replace: true });
    snack(t('reading.saved', { m: fixed(fields.counter_m, 2) }));
  });

  if (kept) {
    refill(
      noteBox,
      draftNote(kept, async () => {
        await draft.drop();
        Object.assign(opened, { fields: record?.fields ?? {}, shown: record?.standing });
        form.reset(started);
        part.setValue(record?.fields.counter_part ?? null);
        refill(noteBox);
        form.focus();
      })
    );
    app.announce(t('form.draft_restored_at', { time: clockTime(kept.kept_at ?? '') }));
  }
  page.head({
    title: record ? t('reading.one') : t('reading.new'),
    eyebrow: run.fields.run_ref ?? '?',
    back,
    small: true,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'reading',
      record,
      back,
      path: params.path,
      what: t('what.reading')
    })
  });
  page.body(
    h(
      'form',
      {
        class: 'form stack-s',
        novalidate: true,
        onsubmit: (/** @type {Event} */ event) => {
          event.preventDefault();
          void save(!record);
        }
      },
      noteBox,
      conflictNote(record, params.job),
      kept || !offered || sameAsLast(view, run, offered) ? null : offerKey(offered, form.take),
      kept ? null : lastWords(view, run, record),
      ...form.elements,
      part.element,
      h('button', { type: 'submit', class: 'unseen', tabindex: '-1', 'aria-hidden': 'true' })
    )
  );
  page.dock(
    ...form.keys,
    h(
      'div',
      { class: 'bar-keys' },
      button(t('reading.save'), {
        tone: record ? 'main-act action' : 'action',
        onclick: () => void save(false)
      }),
      record
        ? null
        : button(t('reading.save_next'), { tone: 'main-act action', onclick: () => void save(true) })
    )
  );
  form.show();
}

/**
 * What the form shows before anybody has typed.
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {RecordOf<'reading'> | null} record
 * @param {Remembered} remembered
 * @returns {Omit<ReadingDraft, 'record_id'>}
 */
function start(view, run, record, remembered) {
  if (record) {
    const counter = record.fields.counter_m;
    return {
      counter: counter === undefined || counter === null ? '' : String(counter),
      incl: inclinationDraft(record.fields.inclination),
      reset: resetDraft(record.fields.counter_reset)
    };
  }
  const last = ofRun(view, run.id, 'reading').at(-1)?.fields.inclination;
  const unit = last?.unit && last.unit !== 'permille' ? last.unit : (remembered.unit ?? 'deg');
  const sense = last?.sense ?? '';
  return {
    counter: '',
    incl: { text: '', unit, sense: sense === 'level' ? '' : sense, over: false },
    reset: null
  };
}

/**
 * The draft of the form, or the values of an entry that was set aside.
 * @param {Kept | undefined} kept
 * @param {ReadingDraft} started
 */
function restored(kept, started) {
  if (!kept) return null;
  if (!kept.mend)
    return {
      counter: kept.counter ?? '',
      incl: kept.incl ?? started.incl,
      reset: kept.reset ?? null,
      record_id: started.record_id
    };
  const { counter_m: counter, inclination, counter_reset: reset } = kept.mend;
  return {
    counter: counter === undefined ? started.counter : String(counter),
    record_id: started.record_id,
    incl: inclination ? inclinationDraft(inclination) : started.incl,
    reset: reset === undefined ? started.reset : resetDraft(reset)
  };
}

/**
 * @param {App} app
 * @param {RunRecordParams} params
 * @param {RecordOf<'reading'> | null} record
 * @param {Opened} opened
 * @param {string} id
 * @param {ReadingFields} fields
 */
async function write(app, params, record, opened, id, fields) {
  if (!record) {
    const stated = Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null));
    await app.store.save(params.job, 'reading', id, { run_id: params.run, ...stated });
    return true;
  }
  const kept = Object.fromEntries(
    Object.entries(fields).filter(
      ([name, value]) => canonical(value) !== canonical(opened.fields[name] ?? null)
    )
  );
  if (Object.keys(kept).length) await app.store.save(params.job, 'reading', record.id, kept, opened.shown);
  return true;
}

/**
 * The reading made before another, or last.
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {string} id
 */
function readingBefore(view, run, id) {
  return ofRun(view, run.id, 'reading')
    .filter((one) => one.id < id)
    .at(-1);
}

/**
 * @param {JobView} view
 * @param {RecordOf<'run'>} run
 * @param {import('../../forms/counter_place.js').Offered} offered
 */
function sameAsLast(view, run, offered) {
  return ofRun(view, run.id, 'reading').at(-1)?.fields.counter_m === offered.counter_m;
}

/** One tap takes the place that is offered; it is never saved untouched, for a reading is read.
 * @param {import('../../forms/counter_place.js').Offered} offered @param {(counterM: number) => void} take */
function offerKey(offered, take) {
  return h(
    'p',
    { class: 'small' },
    button(t('place.take', { m: metres(offered.counter_m) }), {
      tone: 'quiet',
      onclick: () => take(offered.counter_m)
    }),
    ' ',
    offered.whence
  );
}

/** @param {JobView} view @param {RecordOf<'run'>} run @param {RecordOf<'reading'> | null} record */
function lastWords(view, run, record) {
  const last = ofRun(view, run.id, 'reading')
    .filter((one) => one.id !== record?.id)
    .at(-1);
  if (!last || typeof last.fields.counter_m !== 'number')
    return h('p', { class: 'soft small' }, t('reading.first'));
  return h(
    'p',
    { class: 'soft small' },
    t('reading.last', { m: fixed(last.fields.counter_m, 2), words: meaning(last.fields.inclination) })
  );
}
