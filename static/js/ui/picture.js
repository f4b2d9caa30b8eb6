/** Pictures from the store. A picture that cannot be shown here is named as what it is: a file. */
import { h } from './elements.js';
import { icon } from './icons.js';
import { t } from '../text/words.js';

/** @typedef {import('./types.js').App} App */
/** @typedef {import('../store/photos_here.js').PhotoWanted} PhotoWanted */

/** @type {Map<string, string>} what is shown to its address */
const held = new Map();

/**
 * @param {App} app
 * @param {{fields: import('../records/types.js').PhotoFields}} photo
 * @param {{whole?: boolean, captioned?: boolean}} [how] the picture itself, not its preview; the caption
 *   stands beside it
 * @returns {Promise<HTMLElement>}
 */
export async function picture(app, photo, { whole = false, captioned = false } = {}) {
  const {
    sha256,
    media_type: type,
    caption
  } = /** @type {PhotoWanted & typeof photo.fields} */ (photo.fields);
  const row = await app.store.photo(sha256);
  const words = captioned ? '' : caption || t('photo.no_caption');
  if (!row) return withoutBytes(sha256, await app.store.preview(sha256), words, whole);
  const shown = !whole && row.preview ? row.preview : row.bytes;
  if (!row.preview && !/^image\/(jpeg|png|webp|gif|avif|svg)/.test(type)) return face(icon('picture'), words);
  const key = `${sha256}/${shown === row.preview}`;
  const url =
    held.get(key) ??
    URL.createObjectURL(
      new Blob([shown], { type: shown === row.preview ? (row.preview_type ?? 'image/jpeg') : type })
    );
  held.set(key, url);
  return imageFace(url, words);
}

/**
 * Not on this phone: its preview, if it was let go, and perhaps the server is there to show the whole.
 * @param {string} sha256
 * @param {import('../store/photo_previews.js').Preview | undefined} kept
 * @param {string} words
 * @param {boolean} whole
 */
function withoutBytes(sha256, kept, words, whole) {
  const key = `${sha256}/true`;
  if (kept && !held.has(key))
    held.set(key, URL.createObjectURL(new Blob([kept.preview], { type: kept.preview_type })));
  const preview = kept ? held.get(key) : undefined;
  if (preview && !whole) return imageFace(preview, words);
  return imageFace(`/media/photos/${sha256}`, words, preview);
}

/** @param {string} src @param {string} words @param {string} [instead] where that cannot be had */
function imageFace(src, words, instead) {
  const holder = h('span', { class: 'photo-face' });
  const image = h('img', {
    src,
    alt: words,
    decoding: 'async',
    onerror: () => holder.replaceChildren(instead ? imageFace(instead, words) : away(words))
  });
  holder.append(image);
  return holder;
}

/** @param {string} words */
function away(words) {
  return h(
    'span',
    { class: 'photo-away' },
    icon('picture'),
    h('span', null, t('photo.not_here')),
    words ? h('span', { class: 'unseen' }, t('value.then', { words })) : null
  );
}

/** @param {SVGElement} drawing @param {string} words */
function face(drawing, words) {
  return h('span', { class: 'photo-face' }, drawing, h('span', { class: 'unseen' }, words));
}

/** Give back the memory that the pictures of a screen took. */
export function releasePictures() {
  for (const url of held.values()) URL.revokeObjectURL(url);
  held.clear();
}
