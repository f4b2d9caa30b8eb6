/** A change of shape, size, material or lining: the running stretch ends here and the next one begins. */
import { h, refill } from '../../ui/elements.js';
import { button, note } from '../../ui/page.js';
import { listed, metres } from '../../ui/format.js';
import { jobView, mustRecord } from '../../ui/record_guard.js';
import { snack } from '../../ui/snack_bar.js';
import { padDock } from '../../ui/pad_dock.js';
import { counterPlace, offeredPlace } from '../../forms/counter_place.js';
import { buildForm, showFaults } from '../../forms/form.js';
import { draftNote, fieldsOf } from '../../forms/record_form.js';
import { insist, once } from '../../forms/failure.js';
import { keepDraft } from '../../forms/draft.js';
import { changeEntries, runningStretch } from '../../forms/stretch_change.js';
import { fieldOf, valueWords } from '../parts/describe.js';
import { ofRun } from '../parts/run_survey.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/**
 * @template R
 * @typedef {import('../../forms/draft.js').Draft<R>} Draft
 */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RunParams} RunParams */
/** @typedef {import('../../records/types.js').StretchRecord} StretchRecord */

/** What may be different, and the fields that say it. @type {Array<[string, string[]]>} */
const GROUPS = [
  ['material', ['material']],
  ['size', ['height_mm', 'width_mm', 'size_known']],
  ['shape', ['shape']],
  ['lining', ['lining']],
  ['pipe_unit_length_m', ['pipe_unit_length_m']]
];

/** @param {import('../../ui/page.js').Page} page @param {RunParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = mustRecord(view, 'run', params.run);
  const back = `/jobs/${params.job}/runs/${params.run}`;
  const stretches = ofRun(view, run.id, 'stretch');
  /** @type {Draft<Partial<ReturnType<typeof raw>>> | undefined} */
  const kept = await app.store.draft(params.path);
  const newId = kept?.record_id ?? app.newId();
  const names = GROUPS.flatMap(([, some]) => some);
  const built = buildForm(
    { app, view },
    fieldsOf(app, 'stretch').filter((field) => names.includes(field.name)),
    () => draft.touch()
  );
  const counter = counterPlace(fieldOf(app, 'observation', 'counter_m'), () => {
    show();
    draft.touch();
  });
  const dock = padDock(page);
  dock.serve(counter.window);
  /** @type {Set<string>} */
  const marked = new Set();
  const raw = () => ({ counter: counter.input.value, marked: [...marked], parts: built.raw() });
  const draft = keepDraft(app, params.path, () => ({ raw: raw(), record_id: newId }));
  const [summary, reportBox, noteBox] = [
    h('div', { tabindex: '-1', hidden: true }),
    h('div', { role: 'status' }),
    h('div', null)
  ];
  const before = () => runningStretch(stretches, counter.read().value);
  const about = { app, view, built, marked, before, touched: () => draft.touch() };
  const groups = GROUPS.map(([name, some]) => changeGroup(about, name, some));

  function show() {
    const stretch = before();
    for (const group of groups) group.draw();
    refill(
      reportBox,
      stretch ? null : note('notice', h('p', null, t('change.first'))),
      stretch ? h('p', { class: 'field-help' }, endWords(stretch, counter.read().value)) : null
    );
  }

  /** @returns {{counterM: number, values: FieldsByName} | null} */
  function read() {
    const place = counter.read();
    const found = built.read();
    if (!found) return null;
    const values = Object.fromEntries(
      names.map((name) => [name, built.controls.get(name)?.read().value ?? null])
    );
    const faults = faultsOf({ counter, marked, groups, stretch: before() }, values);
    counter.mark(place.value === null);
    showFaults(summary, faults);
    return faults.length || place.value === null ? null : { counterM: place.value, values };
  }

  const save = once(async () => {
    const found = read();
    if (!found) return;
    const changed = new Set(groups.filter((group) => marked.has(group.name)).flatMap((group) => group.some));
    const write = async () => {
      // As it stands now, not as it stood when the form was opened: an end that came in meanwhile is not
      // replaced.
      const now = await app.store.job(params.job);
      const entries = changeEntries(
        ofRun(now, run.id, 'stretch'),
        { id: newId, run_id: run.id, counter_m: found.counterM },
        found.values,
        changed
      );
      await app.store.addEntries(params.job, entries);
      return true;
    };
    if (!(await insist(app, { what: t('what.change'), jobId: params.job, typed: raw }, write))) return;
    await draft.drop();
    app.announce(t('form.saved'));
    await app.go(back, { replace: true });
    snack(t('change.saved', { m: metres(found.counterM) }));
  });

  const begin = () => {
    const at = params.query.get('at');
    const last = offeredPlace(view, run);
    if (at !== null && Number.isFinite(Number(at))) counter.fill(Number(at), null);
    else counter.fill(last?.counter_m, last?.whence ?? null);
    marked.clear();
    const wanted = params.query.get('field');
    if (groups.some((group) => group.name === wanted)) marked.add(/** @type {string} */ (wanted));
    built.setValues({});
  };
  begin();
  if (kept) {
    counter.setRaw(kept.raw?.counter ?? '');
    marked.clear();
    for (const name of kept.raw?.marked ?? []) marked.add(name);
    built.setRaw(kept.raw?.parts ?? {});
    refill(
      noteBox,
      draftNote(kept, async () => {
        await draft.drop();
        begin();
        show();
        refill(noteBox);
        page.focus();
      })
    );
  }
  page.head({ title: t('change.new'), eyebrow: run.fields.run_ref ?? '?', back, small: true });
  page.body(
    h(
      'form',
      {
        class: 'form',
        novalidate: true,
        onsubmit: (/** @type {Event} */ event) => {
          event.preventDefault();
          void save();
        }
      },
      h(
        'div',
        { class: 'fields' },
        summary,
        noteBox,
        counter.element,
        reportBox,
        h('h2', null, t('change.what')),
        h('div', { class: 'stack-s' }, ...groups.map((group) => group.element))
      )
    )
  );
  dock.show([button(t('change.save'), { tone: 'main-act action', onclick: () => void save() })]);
  show();
}

/**
 * @typedef {{app: App, view: import('../../ui/types.js').JobView, built: ReturnType<typeof buildForm>,
 *   marked: Set<string>, before: () => StretchRecord | null | undefined, touched: () => void}} About
 */
/** @typedef {ReturnType<typeof changeGroup>} Group */

/**
 * A key that says that something is different, what it was, and the fields that say what it is now.
 * @param {About} about
 * @param {string} name
 * @param {string[]} some
 */
function changeGroup({ app, view, built, marked, before, touched }, name, some) {
  const label = name === 'size' ? t('change.size') : (fieldOf(app, 'stretch', name)?.label ?? name);
  const fields = h(
    'div',
    { class: 'fields', hidden: true },
    ...some.map((one) => built.controls.get(one)?.element ?? null)
  );
  const was = h('span', { class: 'row-under' });
  const key = h(
    'button',
    {
      type: 'button',
      class: 'change-key',
      'aria-pressed': 'false',
      'aria-label': t('change.field', { label }),
      onclick: () => turn(!marked.has(name))
    },
    h('span', { class: 'row-title' }, label),
    was
  );
  const turn = (/** @type {boolean} */ on) => {
    if (on) marked.add(name);
    else marked.delete(name);
    draw();
    touched();
  };
  const draw = () => {
    key.setAttribute('aria-pressed', String(marked.has(name)));
    fields.hidden = !marked.has(name);
    const f = /** @type {FieldsByName} */ (before()?.fields ?? {});
    const shown = some.filter((one, i) => i === 0 || f[one]);
    was.textContent = t('change.was', {
      value: listed(shown.map((one) => valueWords(app, view, 'stretch', one, f[one])))
    });
  };
  return { name, some, label, draw, element: h('div', { class: 'stack-s' }, key, fields), first: () => key };
}

/** Where the stretch that runs will end. @param {StretchRecord} stretch @param {number | null} counterM */
function endWords(stretch, counterM) {
  const { from_counter_m: start, to_counter_m: toM } = stretch.fields;
  const fromM = /** @type {number} */ (start);
  const fixed = typeof toM === 'number' && toM !== counterM;
  return fixed
    ? t('change.ends_elsewhere', { from: metres(fromM), to: metres(toM) })
    : t('change.from_here', { m: metres(fromM) });
}

/**
 * What is missing: the place, what is different, or what it is now.
 * @param {{counter: ReturnType<typeof counterPlace>, marked: Set<string>, groups: Group[], stretch:
 *   StretchRecord | null | undefined}} form
 * @param {FieldsByName} values
 */
function faultsOf({ counter, marked, groups, stretch }, values) {
  const place = counter.read();
  const faults = [];
  if (place.value === null)
    faults.push({
      control: { focus: () => counter.input.focus() },
      sentence: place.error ?? t('change.place_needed')
    });
  if (stretch && marked.size === 0)
    faults.push({ control: { focus: () => groups[0].first().focus() }, sentence: t('change.nothing') });
  for (const group of groups) {
    const stated = group.some.some((one) => values[one] !== null);
    if (marked.has(group.name) && !stated)
      faults.push({
        control: { focus: () => group.first().focus() },
        sentence: t('change.none_said', { label: group.label })
      });
  }
  return faults;
}
