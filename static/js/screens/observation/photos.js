/** Every photo of a job. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { metres, sentences } from '../../ui/format.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { picture, releasePictures } from '../../ui/picture.js';
import { photoPlace } from '../../survey/plan/photo_place.js';
import { ownerOf } from '../parts/describe.js';
import { photosCard } from '../parts/photos_here.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../records/types.js').PhotoRecord} PhotoRecord */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  const card = photosCard(app, params.job);
  const stop = await live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    await card.show();
    const tiles = [];
    for (const one of view.records('photo')) tiles.push(await tile(app, view, one, at));
    page.head({ title: t('photos.title'), eyebrow: jobTitle(view), back: at });
    page.bar(button(t('photo.add'), { tone: 'main-act action', icon: 'photo', href: `${at}/photos/new` }));
    page.body(
      card.element,
      tiles.length ? h('div', { class: 'photos' }, ...tiles) : h('p', { class: 'soft' }, t('photos.none'))
    );
  });
  return () => {
    stop();
    card.stop();
    releasePictures();
  };
}

/** @param {App} app @param {JobView} view @param {PhotoRecord} photo @param {string} at */
async function tile(app, view, photo, at) {
  const fields = photoPlace(photo.fields, ownerOf(view, photo)?.fields ?? null);
  const run = fields.run_id ? view.record('run', fields.run_id)?.fields.run_ref : '';
  const place = typeof fields.counter_m === 'number' ? metres(fields.counter_m) : '';
  return h(
    'a',
    { class: 'photo-tile', href: `${at}/photos/${photo.id}`, 'data-key': photo.id },
    await picture(app, photo, { captioned: true }),
    h(
      'span',
      { class: 'photo-words' },
      photo.fields.caption || t('photo.no_caption'),
      h('span', { class: 'row-under' }, sentences([run, place]))
    )
  );
}
