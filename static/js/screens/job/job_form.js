/** The site sheet: a new job, or the job's own fields. */
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */

const ORIGIN = ['declination_known', 'declination_sd_deg', 'declination_model'];

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  if (!params.job) return newJob(page, params, app);
  const view = await jobView(app, params.job);
  const back = `/jobs/${params.job}`;
  page.head({
    title: t('job.sheet'),
    eyebrow: jobTitle(view),
    back,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'job',
      record: view.job,
      back: '/',
      path: params.path,
      what: t('what.job')
    })
  });
  return recordForm(page, app, {
    jobId: params.job,
    view,
    kind: 'job',
    record: view.job,
    fields: fieldsOf(app, 'job'),
    path: params.path,
    saveLabel: t('job.save'),
    what: t('what.job'),
    back,
    follow: (changed) => ({ ...staleOrigin(changed, view.job.fields), ...changed })
  });
}

/**
 * How the declination was known goes with the declination: another one, typed in, is no longer that of a
 * model.
 * @param {FieldsByName} changed
 * @param {FieldsByName} standing
 */
function staleOrigin(changed, standing) {
  if (!('declination_deg' in changed)) return {};
  return Object.fromEntries(
    ORIGIN.filter((name) => (standing[name] ?? null) !== null).map((name) => [name, null])
  );
}

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
async function newJob(page, params, app) {
  // The draft keeps the id, so that a job saved twice by a nervous thumb is still one job.
  /** @type {import('../../forms/draft.js').Draft | undefined} */
  const kept = await app.store.draft(params.path);
  const jobId = kept?.record_id ?? app.newId();
  page.head({ title: t('jobs.new'), eyebrow: t('app.name'), back: '/' });
  return recordForm(page, app, {
    jobId,
    view: null,
    kind: 'job',
    record: null,
    fields: fieldsOf(app, 'job'),
    suggested: { surveyed_on: app.newIsoStamp().slice(0, 10), surveyor: await app.store.setting('surveyor') },
    path: params.path,
    saveLabel: t('job.save'),
    what: t('what.job'),
    back: '/',
    after: (id) => `/jobs/${id}`
  });
}
