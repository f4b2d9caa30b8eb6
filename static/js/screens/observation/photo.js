/** One photo: the picture, what it shows, what it belongs to. */
import { h } from '../../ui/elements.js';
import { button, note } from '../../ui/page.js';
import { errorWords, faultWords } from '../../ui/error_words.js';
import { bytesText, sentences, when } from '../../ui/format.js';
import { jobTitle, jobView, mustRecord } from '../../ui/record_guard.js';
import { picture, releasePictures } from '../../ui/picture.js';
import { fieldsOf, recordForm, removeKey } from '../../forms/record_form.js';
import { ownerOf, recordName, recordPath } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../records/types.js').AnyFields} AnyFields */
/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').RecordParams} RecordParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../store/photos_here.js').PhotoWanted} PhotoWanted */

/** @param {import('../../ui/page.js').Page} page @param {RecordParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const record = mustRecord(view, 'photo', params.id);
  const owner = ownerOf(view, record);
  const beside = /** @type {AnyFields} */ (owner?.fields ?? {}); // the photo stands where that stands
  const placed = typeof beside.counter_m === 'number';
  const back = owner
    ? recordPath(params.job, owner.kind, owner)
    : record.fields.run_id
      ? `/jobs/${params.job}/runs/${record.fields.run_id}`
      : `/jobs/${params.job}/photos`;
  const row = await app.store.photo(/** @type {string} */ (record.fields.sha256));
  page.head({
    title: t('photo.one'),
    eyebrow: jobTitle(view),
    back,
    aside: removeKey(app, {
      jobId: params.job,
      kind: 'photo',
      record,
      back,
      path: params.path,
      what: t('what.photo')
    })
  });
  const said = await saidByServer(app, /** @type {string} */ (record.fields.sha256));
  const shown = await picture(app, record, { whole: true });
  shown.classList.add('photo-large');
  const stop = await recordForm(page, app, {
    jobId: params.job,
    view,
    kind: 'photo',
    record,
    fields: fieldsOf(app, 'photo').filter(
      (field) => field.name !== 'counter_m' || (record.fields.run_id && !placed)
    ),
    path: params.path,
    saveLabel: t('photo.save'),
    what: t('what.photo'),
    back,
    above: [
      shown,
      row && !row.preview
        ? note('notice', t('photo.not_shown', { type: /** @type {string} */ (record.fields.media_type) }))
        : null,
      said ? note('notice', said) : null,
      row ? null : elsewhere(app, params, /** @type {PhotoWanted} */ (record.fields))
    ],
    below: [facts(app, view, record, owner)]
  });
  return () => {
    stop();
    releasePictures();
  };
}

/**
 * @typedef {{width_px?: number, height_px: number, size_bytes: number, media_type: string, taken_at?:
 *   string}} PhotoFacts
 */

/**
 * Why the report will not show it, or why the server did not take it.
 * @param {App} app @param {string} sha256 @returns {Promise<string>}
 */
async function saidByServer(app, sha256) {
  const said = await app.store.photoNote(sha256);
  if (!said?.code) return said?.message ?? '';
  if (!(await app.store.wantedPhotos()).has(sha256)) return ''; // it went after all
  return sentences([t('photo.refused'), faultWords(said.code, said.message)]);
}

/**
 * In place of a picture that is not here: the way to it.
 * @param {App} app @param {RecordParams} params @param {PhotoWanted} photo
 */
function elsewhere(app, params, photo) {
  const status = h('span', { role: 'status' });
  const fetchIt = async () => {
    status.textContent = t('photo.fetching');
    try {
      await app.sync.photos.takeOne(params.job, photo);
      void app.go(params.path);
    } catch (error) {
      status.textContent = errorWords(error);
    }
  };
  return note(
    'plain',
    h('p', null, t('photo.elsewhere')),
    button(t('photo.fetch'), { onclick: () => void fetchIt() }),
    status
  );
}

/**
 * @param {App} app @param {JobView} view @param {import('../../ui/types.js').RecordOf<'photo'>} record
 * @param {ReturnType<typeof ownerOf>} owner
 */
function facts(app, view, record, owner) {
  const f = /** @type {PhotoFacts} */ (record.fields);
  /** @type {Array<[string, Node | string]>} */
  const rows = [
    [
      t('photo.size'),
      f.width_px
        ? t('photo.pixels', { width: f.width_px, height: f.height_px, size: bytesText(f.size_bytes) })
        : bytesText(f.size_bytes)
    ],
    [t('photo.type'), f.media_type],
    [t('photo.taken'), f.taken_at ? when(f.taken_at) : t('value.empty')]
  ];
  if (owner)
    rows.push([
      t('photo.of'),
      h('a', { href: recordPath(view.jobId, owner.kind, owner) }, recordName(app, view, owner.kind, owner))
    ]);
  return h(
    'dl',
    { class: 'facts' },
    ...rows.flatMap(([name, value]) => [h('dt', null, name), h('dd', null, value)])
  );
}
