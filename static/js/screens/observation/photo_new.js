/** Take a photo, or choose pictures that exist, for the job or for a run at a distance. */
import { h, refill } from '../../ui/elements.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { numberControl, textControl } from '../../forms/fields/fields_plain.js';
import { offeredPlace } from '../../forms/counter_place.js';
import { keepDraft } from '../../forms/draft.js';
import { photoInput } from '../../forms/photo_input.js';
import { button } from '../../ui/page.js';
import { picture, releasePictures } from '../../ui/picture.js';
import { fieldOf } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const view = await jobView(app, params.job);
  const run = params.query.get('run') ? view.record('run', params.query.get('run')) : null;
  const back = run ? `/jobs/${params.job}/runs/${run.id}` : `/jobs/${params.job}/photos`;
  const draft = keepDraft(app, params.path, () => ({ counter: counter.raw(), caption: caption.raw() }));
  const counter = numberControl(fieldOf(app, 'photo', 'counter_m'), () => draft.touch());
  const caption = textControl(fieldOf(app, 'photo', 'caption'), () => draft.touch());
  const offered = run ? offeredPlace(view, run) : null;
  if (offered) counter.setValue(offered.counter_m);
  /** @type {{counter?: string, caption?: string} | undefined} */
  const kept = await app.store.draft(params.path);
  if (kept) {
    counter.setRaw(kept.counter);
    caption.setRaw(kept.caption);
  }
  const taken = h('div', { class: 'photos' });
  const input = photoInput(
    app,
    params.job,
    () => {
      const place = counter.read();
      counter.fault(place.error ?? '');
      return {
        run_id: run?.id,
        counter_m: run ? (place.value ?? undefined) : undefined,
        caption: caption.read().value ?? undefined
      };
    },
    async (id) => {
      await draft.drop();
      caption.setValue('');
      const now = await app.store.job(params.job);
      const photo = now.record('photo', id);
      if (photo)
        taken.append(
          h(
            'a',
            { class: 'photo-tile', href: `/jobs/${params.job}/photos/${id}` },
            await picture(app, photo, { captioned: true }),
            h('span', { class: 'photo-words' }, photo.fields.caption || t('photo.add_caption'))
          )
        );
    }
  );
  page.head({
    title: t('photo.new'),
    eyebrow: run?.fields.run_ref ?? jobTitle(view),
    back,
    aside: button(t('photo.done'), { tone: 'quiet', href: back })
  });
  page.body(
    h(
      'div',
      { class: 'fields' },
      offered && !kept ? h('p', { class: 'field-help' }, t('place.offered', { how: offered.words })) : null,
      run ? counter.element : null,
      caption.element
    ),
    input.status,
    taken
  );
  refill(input.element, input.element.firstChild);
  page.bar(input.element);
  return () => releasePictures();
}
