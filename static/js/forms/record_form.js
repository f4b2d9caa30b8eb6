/** A whole screen that edits one record: fields, draft, save, remove with undo. */
import { h, refill } from '../ui/elements.js';
import { button, note } from '../ui/page.js';
import { snack } from '../ui/snack_bar.js';
import { canonical } from '../records/fold.js';
import { buildForm } from './form.js';
import { insist, once } from './failure.js';
import { keepDraft, mended } from './draft.js';
import { clockTime } from '../ui/format.js';
import { t } from '../text/words.js';

/** @typedef {import('../ui/types.js').Field} Field */
/** @typedef {import('../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../ui/page.js').Page} Page */

/** @typedef {import('../ui/types.js').AnyFields} AnyFields */
/** @typedef {import('../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../ui/types.js').Standing} Standing */
/** @typedef {import('./draft.js').Draft} Draft */
/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../ui/types.js').Change} Change */
/** @typedef {import('../ui/types.js').JobView} JobView */

/**
 * @typedef {object} RecordForm
 * @property {string} jobId
 * @property {JobView | null} view null for a job that does not exist yet
 * @property {Kind} kind
 * @property {SurveyRecord | null} record
 * @property {Field[]} fields
 * @property {AnyFields} [fixed] written with a new record, not shown
 * @property {AnyFields} [suggested] shown in a new record until changed
 * @property {AnyFields} [offered] shown where the record, new or not, has nothing yet
 * @property {(values: AnyFields) => Node | null} [live] what the values typed so far come to
 * @property {(id: string, fields: AnyFields) => Change[]} [beside] saved with a new record
 * @property {(changed: AnyFields) => AnyFields} [follow] what else changes with what was
 *   changed
 * @property {string} path
 * @property {string} saveLabel
 * @property {string} what in sentences: "the run"
 * @property {string} back where to go after saving or removing
 * @property {Array<Node | null>} [above]
 * @property {Array<Node | null>} [below]
 * @property {(id: string) => string | undefined} [after] where to go after saving
 * @property {(id: string) => {label: string, path: string}} [offer] what is offered once it is saved
 */

/** @param {App} app @param {Kind} kind @returns {Field[]} */
export function fieldsOf(app, kind) {
  return app.fields.kinds[kind].fields.filter((field) => !field.hidden);
}

/** @param {Page} page @param {App} app @param {RecordForm} form @returns {Promise<() => void>} */
export async function recordForm(page, app, form) {
  const runId = form.fixed?.run_id ?? /** @type {AnyFields | undefined} */ (form.record?.fields)?.run_id;
  const built = buildForm({ app, view: form.view, runId }, form.fields, () => {
    draft.touch();
    tell();
  });
  /** @type {FieldsByName} */
  const standing = form.record?.fields ?? {};
  const newId = form.record?.id ?? (form.kind === 'job' ? form.jobId : app.newId());
  let recordId = newId;
  /** @type {Draft | undefined} */
  const kept = await app.store.draft(form.path);
  let shown = form.record?.standing;
  const draft = keepDraft(app, form.path, () => ({
    raw: built.raw(),
    opened: standing,
    shown,
    record_id: recordId,
    aside: kept?.aside
  }));
  const restoredAt = h('div', null);
  const liveAt = h('div', { role: 'status' });
  const tell = () =>
    refill(
      liveAt,
      form.live?.(
        Object.fromEntries([...built.controls].map(([name, control]) => [name, control.read().value]))
      ) ?? null
    );

  const begin = () => {
    built.setValues(standing);
    if (!form.record) built.overlay(form.suggested ?? {});
    built.overlay(
      Object.fromEntries(
        Object.entries(form.offered ?? {}).filter(([name]) => (standing[name] ?? null) === null)
      )
    );
  };
  begin();
  if (kept) {
    shown = shownThen(kept, restore(built, kept, standing), shown);
    recordId = form.record ? recordId : (kept.record_id ?? recordId);
    refill(
      restoredAt,
      draftNote(kept, async () => {
        await draft.drop();
        shown = form.record?.standing;
        begin();
        refill(restoredAt);
        page.focus();
      })
    );
    app.announce(t('form.draft_restored'));
  }

  const submit = once(async () => {
    const found = built.read();
    if (!found) return;
    found.fields = form.follow?.(found.fields) ?? found.fields;
    const done = await insist(app, { what: form.what, jobId: form.jobId, typed: () => built.raw() }, () =>
      write(app, form, recordId, found, shown)
    );
    if (!done) return;
    await draft.drop();
    await mended(app, form.jobId, kept);
    app.announce(t('form.saved'));
    await app.go(form.after?.(recordId) ?? form.back, { replace: true });
    const next = form.offer?.(recordId);
    snack(
      t('form.saved'),
      next ? { label: next.label, icon: 'on', act: async () => app.go(next.path) } : undefined
    );
  });
  page.body(
    h(
      'form',
      {
        class: 'form',
        novalidate: true,
        onsubmit: (/** @type {Event} */ event) => {
          event.preventDefault();
          void submit();
        },
        id: 'record-form'
      },
      restoredAt,
      conflictNote(form.record, form.jobId),
      form.record?.unusable?.length ? note('notice', t('form.not_whole')) : null,
      ...(form.above ?? []),
      built.element,
      liveAt,
      ...(form.below ?? [])
    )
  );
  const save = button(form.saveLabel, { tone: 'main-act action', type: 'submit' });
  save.setAttribute('form', 'record-form');
  page.bar(save);
  tell();
  return draft.stop;
}

/** Touched fields of the draft go over what stands now; the rest shows what stands now.
 * @param {ReturnType<typeof buildForm>} built @param {Draft} kept @param {FieldsByName} standing
 * @returns {string[]} the names of the touched ones */
function restore(built, kept, standing) {
  if (kept.mend) {
    built.overlay(kept.mend);
    return [];
  }
  built.setValues(kept.opened ?? {});
  const before = built.raw();
  built.setValues(standing);
  const touched = Object.entries(kept.raw ?? {}).filter(
    ([name, raw]) => canonical(raw) !== canonical(before[name])
  );
  built.setRaw(Object.fromEntries(touched));
  return touched.map(([name]) => name);
}

/**
 * What the person saw of a record whose draft is restored: of the fields in the draft, what stood when they
 * were typed.
 * @param {{shown?: Standing} | undefined} kept
 * @param {string[] | null} names of the fields; null for all
 * @param {Standing | undefined} now
 * @returns {Standing | undefined}
 */
export function shownThen(kept, names, now) {
  const { shown } = kept ?? {};
  if (!now || !shown) return now;
  return names ? { ...now, ...Object.fromEntries(names.map((name) => [name, shown[name] ?? []])) } : shown;
}

/** @param {{mend?: unknown, kept_at?: string}} kept @param {() => void} afresh */
export function draftNote(kept, afresh) {
  const words = kept.mend
    ? t('form.mending')
    : t('form.draft_restored_at', { time: clockTime(kept.kept_at ?? '') });
  return h(
    'div',
    { class: 'draft-note', role: 'note' },
    h('span', null, words),
    button(t('form.afresh'), { tone: 'quiet', onclick: afresh })
  );
}

/**
 * @param {App} app
 * @param {RecordForm} form
 * @param {string} id
 * @param {{fields: AnyFields, before: Change[]}} found
 * @param {Standing} [shown]
 * @returns {Promise<boolean>}
 */
async function write(app, form, id, found, shown) {
  const already = form.view?.record(form.kind, id);
  const fields = form.record || already ? found.fields : { ...form.fixed, ...withoutNull(found.fields) };
  if (!form.record && !already && form.beside) {
    await app.store.addEntries(form.jobId, [
      ...found.before,
      /** @type {Change} */ ({ kind: form.kind, record_id: id, fields }),
      ...form.beside(id, fields)
    ]);
    return true;
  }
  if (found.before.length) await app.store.addEntries(form.jobId, found.before);
  if (Object.keys(fields).length) await app.store.save(form.jobId, form.kind, id, fields, shown);
  return true;
}

/** @param {AnyFields} fields @returns {AnyFields} */
function withoutNull(fields) {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null));
}

/** Said on the form of a record of which two phones say different things.
 * @param {SurveyRecord | null} record @param {string} jobId @returns {HTMLElement | null} */
export function conflictNote(record, jobId) {
  if (!record || Object.keys(record.conflicts).length === 0) return null;
  return note(
    'notice',
    h('p', null, t('form.conflict')),
    h('a', { href: `/jobs/${jobId}/conflicts` }, t('form.conflict_settle'))
  );
}

/**
 * The key that removes a record. It stands at the top, far from Save, and can be undone.
 * @param {App} app
 * @param {{jobId: string, kind: Kind, record: SurveyRecord | null, back: string, path: string, what:
 *   string}} about
 */
export function removeKey(app, about) {
  const { jobId, kind, record, back, what } = about;
  if (!record || record.removed) return null;
  const act = async () => {
    const done = await insist(app, { what, jobId }, async () => {
      await app.store.remove(jobId, kind, record.id, record.standing);
      return true;
    });
    if (!done) return;
    app.announce(t('form.removed', { what }));
    await app.go(back, { replace: true });
    snack(t('form.removed', { what }), {
      label: t('form.undo'),
      act: async () => {
        await insist(app, { what, jobId }, () => app.store.restore(jobId, kind, record.id));
        app.announce(t('form.restored', { what }));
      }
    });
  };
  return button(t('form.remove'), { tone: 'remove', icon: 'remove', onclick: act });
}
