/** Checks made today for other jobs: with the same instrument they serve this one too, a tap each. */
import { h } from '../../ui/elements.js';
import { button, section } from '../../ui/page.js';
import { clockTime, phrases } from '../../ui/format.js';
import { snack } from '../../ui/snack_bar.js';
import { insist, once } from '../../forms/failure.js';
import { checkFacts } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/**
 * @typedef {{job: string, at: string, name: string, facts: string[], fields:
 *   import('../../records/types.js').CheckFields}} TodaysCheck
 */

/** Kinds that are about an instrument and not about a place; a gas meter is tried again for every job. */
const OF_INSTRUMENTS = [
  'counter_tape',
  'inclinometer_reversed',
  'inclinometer_limit',
  'camera_height',
  'cable_length'
];

/**
 * Those that this job lacks, the latest of each kind and instrument first.
 * @param {App} app @param {JobView} view of this job @returns {Promise<TodaysCheck[]>}
 */
async function todaysChecks(app, view) {
  const today = app.now().toDateString();
  const had = new Set(view.records('check').map((one) => one.fields.check_type));
  /** @type {Map<string, TodaysCheck>} */
  const found = new Map();
  for (const { job_id: jobId, record } of await app.store.jobs()) {
    if (jobId === view.jobId || record.removed) continue;
    const other = await app.store.job(jobId);
    for (const check of other.records('check')) {
      const {
        check_type: type,
        run_id: _run,
        first_made_for: from,
        first_made_at: first,
        ...fields
      } = check.fields;
      const at = first ?? other.entriesOf('check', check.id)[0]?.recorded_at ?? '';
      if (
        !OF_INSTRUMENTS.includes(/** @type {string} */ (type)) ||
        had.has(type) ||
        new Date(at).toDateString() !== today
      )
        continue;
      const key = `${type} ${fields.instrument ?? ''}`;
      if ((found.get(key)?.at ?? '') > at) continue;
      const job = from ?? record.fields.title ?? t('jobs.untitled');
      const { title, facts } = checkFacts(app, other, { ...check, fields: { check_type: type, ...fields } });
      found.set(key, {
        job,
        at,
        name: title,
        facts,
        fields: { ...fields, check_type: type, first_made_for: job.slice(0, 120), first_made_at: at }
      });
    }
  }
  return [...found.values()].sort((a, b) => (a.at < b.at ? 1 : -1));
}

/**
 * @param {App} app
 * @param {JobView} view
 * @param {string} [only] one kind alone
 * @param {() => void} [taken] once one was taken
 * @returns {Promise<HTMLElement | null>}
 */
export async function todaysPart(app, view, only, taken) {
  const all = (await todaysChecks(app, view)).filter((one) => !only || one.fields.check_type === only);
  if (all.length === 0) return null;
  return section(
    t('checks.today'),
    h('p', { class: 'soft' }, t('checks.today_why')),
    ...all.map((one) => {
      const take = once(async () => {
        const id = app.newId();
        const made = await insist(app, { what: t('what.check'), jobId: view.jobId }, async () => {
          await app.store.addEntries(view.jobId, [{ kind: 'check', record_id: id, fields: one.fields }]);
          return true;
        });
        if (!made) return;
        app.announce(t('form.saved'));
        snack(t('checks.taken', { name: one.name }), {
          label: t('form.undo'),
          act: () => app.store.remove(view.jobId, 'check', id)
        });
        taken?.();
      });
      return h(
        'div',
        { class: 'card' },
        h('p', { class: 'strong' }, one.name),
        h('p', { class: 'small' }, t('checks.today_from', { job: one.job, time: clockTime(one.at) })),
        h(
          'p',
          { class: 'small soft' },
          phrases(one.facts),
          one.fields.instrument ? '' : ` ${t('checks.unnamed')}`
        ),
        button(t('checks.use', { name: one.name }), {
          icon: 'tick',
          tone: 'wide',
          onclick: () => void take()
        })
      );
    })
  );
}
