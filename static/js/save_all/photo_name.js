/** How a photo is called in a file that holds a job, or all of a phone. */

/** @type {Object<string, string>} */
const ENDINGS = {
  'image/jpeg': 'jpg',
  'image/png': 'png',
  'image/webp': 'webp',
  'image/heic': 'heic',
  'image/heif': 'heif',
  'image/gif': 'gif',
  'image/tiff': 'tif'
};

/** @param {string} sha256 @param {string} mediaType @returns {string} */
export function photoFileName(sha256, mediaType) {
  return `photos/${sha256}.${ENDINGS[mediaType] || 'bin'}`;
}
