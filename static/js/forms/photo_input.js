/** Pictures from the camera or the gallery. The bytes are in the store before anything says "saved". */
import { h, refill } from '../ui/elements.js';
import { icon } from '../ui/icons.js';
import { note } from '../ui/page.js';
import { fileKey } from '../files/file_key.js';
import { preparePhoto } from '../photos/photo_prepare.js';
import { withoutLocation } from '../photos/photo_location.js';
import { photoFaults } from '../survey/review/photo_quality.js';
import { leaveRules } from '../survey/review/leave_site.js';
import { insist } from './failure.js';
import { t } from '../text/words.js';
import { errorWords } from '../ui/error_words.js';

const PICTURES = { accept: 'image/*' };

/** @typedef {import('../ui/types.js').App} App */

/**
 * @param {App} app @param {string} jobId
 * @param {() => {belongs_to?: string, run_id?: string, counter_m?: number}} about
 * @param {(recordId: string) => void | Promise<void>} added
 */
export function photoInput(app, jobId, about, added) {
  const status = h('div', { role: 'status', class: 'stack-s' });
  const take = fileKey(t('photo.take'), 'photo', { ...PICTURES, capture: 'environment' }, 'main-act action');
  const choose = fileKey(t('photo.choose'), 'picture', { ...PICTURES, multiple: true }, 'action');
  for (const { input } of [take, choose]) input.addEventListener('change', () => void addAll(input));

  /** @param {HTMLInputElement} input */
  async function addAll(input) {
    const files = [...(input.files ?? [])];
    input.value = '';
    for (const file of files) await addOne(file);
  }

  /** @param {File} file */
  async function addOne(file) {
    tell(t('photo.reading'));
    let prepared;
    try {
      prepared = await forJob(await preparePhoto(file));
    } catch (error) {
      tell(errorWords(error), true);
      return;
    }
    const taken = file.lastModified ? new Date(file.lastModified).toISOString() : undefined;
    const stored = await insist(app, { what: t('what.photo'), jobId }, () =>
      app.store.addPhoto(jobId, { ...prepared, taken_at: taken, ...about() })
    );
    if (!stored) return tell('');
    tell(prepared.preview ? t('photo.saved') : t('photo.saved_as_file'));
    warn(prepared);
    await added(stored.record_id);
    return undefined;
  }

  /**
   * Where it was taken goes out of the file unless the job wants it.
   * @param {import('../store/photo_rows.js').NewPhoto} photo
   */
  async function forJob(photo) {
    if ((await app.store.job(jobId)).job?.fields.photo_location === true) return photo;
    const { bytes, removed } = withoutLocation(new Uint8Array(photo.bytes));
    return removed ? { ...photo, bytes: bytes.buffer, location_removed: true } : photo;
  }

  /**
   * Said at once, while the camera still looks at it.
   * @param {import('../records/types.js').PhotoFields} prepared
   */
  function warn(prepared) {
    const [fault] = photoFaults(prepared, leaveRules({}, app.tables.leave_site).photo);
    if (fault) status.append(note('notice', h('p', null, t(`photo_again.${fault}`))));
  }

  /** @param {string} words @param {boolean} [bad] */
  function tell(words, bad = false) {
    refill(
      status,
      words ? h('p', { class: bad ? 'field-fault' : 'field-help' }, bad ? icon('alert') : null, words) : null
    );
  }
  return {
    element: h(
      'div',
      { class: 'stack-s' },
      h('div', { class: 'keys' }, take.element, choose.element),
      status
    ),
    status,
    tell
  };
}
