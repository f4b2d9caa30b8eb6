/** What is open before leaving the site: each item with one tap to where it is mended, and back again. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { note, section } from '../../ui/page.js';
import { atMostEvery, live } from '../../ui/live.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { counterParts, shownAt } from '../../survey/instruments/counter_resets.js';
import { itemRow } from '../../survey/review/leave_item.js';
import { labelOf, recordName, recordPath } from '../parts/describe.js';
import { concerning, openWithOutbox, unmeasured } from './leave_state.js';
import { itemSentence } from '../../text/survey_words.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../survey/review/leave_site.js').RankedItem} RankedItem */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../../ui/types.js').HeldJob} HeldJob */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../records/types.js').Kind} Kind */

const REDRAW_MS = 250;
/** @type {RankedItem['severity'][]} */
const SEVERITIES = ['hazard', 'site', 'desk'];

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  const runId = params.query.get('run');
  const draw = async () => {
    const view = await jobView(app, params.job);
    const run = runId ? view.record('run', runId) : null;
    const items = concerning(await openWithOutbox(app, view), run?.id ?? null);
    page.head({ title: t('leave.title'), eyebrow: jobTitle(view), back: run ? `${at}/runs/${run.id}` : at });
    page.body(
      h('p', { class: 'soft' }, t('leave.why')),
      run && view.records('run').length > 1
        ? h(
            'p',
            { class: 'field-help' },
            t('leave.only_run', { run: run.fields.run_ref ?? '?' }),
            ' ',
            h('a', { href: `${at}/leave` }, t('leave.all_runs'))
          )
        : null,
      ...SEVERITIES.map((severity) =>
        group(
          app,
          view,
          severity,
          items.filter((one) => one.severity === severity)
        )
      ),
      lookedAt(app, view, items.length === 0)
    );
  };
  const stop = await live(app, params.job, draw);
  let gone = false;
  const redraw = atMostEvery(() => {
    if (!gone) void draw();
  }, REDRAW_MS);
  app.sync.events.addEventListener('status', redraw); // what waits to be sent becomes less
  return () => {
    gone = true;
    stop();
    app.sync.events.removeEventListener('status', redraw);
  };
}

/** @param {App} app @param {HeldJob} view @param {RankedItem['severity']} severity @param {RankedItem[]} items */
function group(app, view, severity, items) {
  if (items.length === 0) return null;
  const runs = [...new Set(items.map((one) => one.run_id))];
  const title = t(`leave_severity.${severity}`);
  const parts = runs.flatMap((runId) => [
    runs.length > 1 || view.records('run').length > 1
      ? h('h3', null, runId ? recordName(app, view, 'run', view.record('run', runId)) : t('leave.of_job'))
      : null,
    h(
      'ul',
      { class: 'rows open-items' },
      ...items.filter((one) => one.run_id === runId).map((one) => h('li', null, itemLink(app, view, one)))
    )
  ]);
  return section(`${title} (${items.length})`, ...parts);
}

/** @param {App} app @param {HeldJob} view @param {RankedItem} item */
function itemLink(app, view, item) {
  const { rows } = app.tables.leave_site;
  const row = itemRow(rows, item.code);
  const record = item.record_id ? view.record(/** @type {Kind} */ (item.kind), item.record_id) : null;
  const about = record && !['run', 'job'].includes(item.kind) ? recordName(app, view, item.kind, record) : '';
  const field =
    item.code === 'conflict_open' && item.field ? labelOf(app, item.kind, item.field, record) : '';
  const href = pathOf(view, row.where, item, record);
  return h(
    'a',
    {
      class: `link-row open-item open-${item.severity}`,
      href,
      'data-field': item.field,
      'data-key': `${item.code} ${item.record_id ?? ''} ${href}`
    },
    h('span', { class: 'row-icon' }, icon(item.severity === 'desk' ? 'sheet' : 'alert')),
    h(
      'span',
      { class: 'row-text' },
      h(
        'span',
        { class: 'row-title' },
        h(
          'span',
          { class: 'unseen' },
          t('value.labelled', { label: t(`leave_severity.${item.severity}`), value: '' })
        ),
        itemSentence(rows, item)
      ),
      about || field
        ? h(
            'span',
            { class: 'row-under' },
            about && field ? t('value.labelled', { label: about, value: field }) : about || field
          )
        : null,
      h('span', { class: 'row-under' }, row.why)
    ),
    icon('on', 'row-on')
  );
}

/**
 * The place where an item is mended.
 * @param {HeldJob} view @param {string} where @param {RankedItem} item
 * @param {SurveyRecord | null | undefined} record @returns {string}
 */
function pathOf(view, where, item, record) {
  const at = `/jobs/${view.jobId}`;
  const run = `${at}/runs/${item.run_id}`;
  const place = (/** @type {string} */ name, /** @type {string} */ as, /** @type {string} */ part) =>
    placeQuery(view, item, item.values[name], as, part);
  switch (where) {
    case 'safety':
      return `${at}/safety`;
    case 'conflicts':
      return `${at}/conflicts`;
    case 'outbox':
      return '/outbox';
    case 'counter_tape':
    case 'inclinometer_reversed':
      return `${at}/checks/new?type=${where}`;
    case 'run_end':
      return item.field === 'remark' ? `${run}/edit` : `${run}/edit?part=end`;
    case 'run':
      return `${run}/edit`;
    case 'length':
      return `${run}/length`;
    case 'other_end':
      return `${at}/runs/new?continues=${item.run_id}&end=other`;
    case 'new_observation':
      return `${run}/observations/new?code=${item.values.code}${counterOf(view, item)}`;
    case 'continuous':
      return `${run}/observations/new?finish=${item.record_id}`;
    case 'new_reading':
      return `${run}/readings/new`;
    case 'new_stretch':
      return `${run}/stretches/new?${place('from_m', 'from_counter_m', 'from_part')}&${place('to_m', 'to_counter_m', 'to_part')}`;
    case 'new_tie':
      return `${run}/ties/new?${place('tie_m', 'counter_m', 'counter_part')}`;
    default:
      return recordPath(view.jobId, item.kind, /** @type {SurveyRecord} */ (record));
  }
}

/**
 * What the counter showed at a place, and in which part where it was reset: filled into the form.
 * @param {HeldJob} view
 * @param {RankedItem} item
 * @param {number} runningM
 * @param {string} as
 * @param {string} partAs
 */
function placeQuery(view, item, runningM, as, partAs) {
  const parts = partsOf(view, item);
  const [shown, part] = shownAt(parts, runningM);
  return `${as}=${Number(shown.toFixed(2))}${parts.length > 1 ? `&${partAs}=${part}` : ''}`;
}

/** @param {HeldJob} view @param {RankedItem} item */
function partsOf(view, item) {
  return counterParts(view.ofRun('reading', item.run_id ?? ''));
}

/**
 * Where the run starts or ends by the counter, for the observation that says so: in the first part, or in the
 * last.
 * @param {HeldJob} view
 * @param {RankedItem} item
 */
function counterOf(view, item) {
  const { counter_zero_m: zero, end_counter_m: end } = view.record('run', item.run_id)?.fields ?? {};
  const starts = item.code === 'start_missing';
  const place = starts ? (zero ?? 0) : end;
  if (typeof place !== 'number') return '';
  const n = partsOf(view, item).length;
  return `&counter_m=${place}${n > 1 ? `&counter_part=${starts ? 1 : n}` : ''}`;
}

/** What was looked at: all of an empty list, folded away where there are items.
 * @param {App} app @param {HeldJob} view @param {boolean} nothing */
function lookedAt(app, view, nothing) {
  const { rows, limits } = app.tables.leave_site;
  const missed = unmeasured(view);
  const list = [
    h('ul', { class: 'bullets' }, ...rows.map((row) => h('li', null, row.check))),
    h('p', { class: 'field-help' }, t('leave.limits')),
    h(
      'ul',
      { class: 'bullets field-help' },
      ...limits.map((one) => h('li', null, t('leave.limit', { ...one })))
    )
  ];
  return h(
    'div',
    { class: 'stack-s' },
    missed ? h('p', { class: 'field-help' }, t('leave.unmeasured', { n: missed })) : null,
    nothing
      ? note('plain', h('p', null, h('strong', null, t('leave.none', { n: rows.length }))), ...list)
      : h(
          'details',
          { class: 'small' },
          h('summary', null, t('leave.looked_at', { n: rows.length })),
          ...list
        )
  );
}
