/**
 * The photos of an observation. They are in the store as soon as they are taken, whether or not it is saved.
 */
import { h, refill } from '../../ui/elements.js';
import { picture } from '../../ui/picture.js';
import { photoInput } from '../../forms/photo_input.js';
import { ofRun } from '../parts/run_survey.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/**
 * @template {import('../../ui/types.js').Kind} K
 * @typedef {import('../../ui/types.js').RecordOf<K>} RecordOf
 */

/**
 * @param {App} app
 * @param {JobParams} params
 * @param {RecordOf<'run'>} run
 * @param {string} recordId
 * @param {() => number | null} place
 * @param {() => void} touched
 */
export function photosPart(app, params, run, recordId, place, touched) {
  const tiles = h('div', { class: 'photos' });
  const show = async () => {
    const now = await app.store.job(params.job);
    const found = [];
    for (const one of ofRun(now, run.id, 'photo').filter((photo) => photo.fields.belongs_to === recordId)) {
      const words = h('span', { class: 'photo-words' }, one.fields.caption || t('photo.no_caption'));
      found.push(
        h(
          'a',
          { class: 'photo-tile', href: `/jobs/${params.job}/photos/${one.id}` },
          await picture(app, one, { captioned: true }),
          words
        )
      );
    }
    refill(tiles, ...found);
  };
  const about = () => ({ belongs_to: recordId, run_id: run.id, counter_m: place() ?? undefined });
  const input = photoInput(app, params.job, about, async () => {
    await show();
    touched();
  });
  return {
    show,
    element: h(
      'section',
      { class: 'stack-s', 'data-field': 'photo' },
      h('h2', null, t('photos.title')),
      tiles,
      input.element
    )
  };
}
