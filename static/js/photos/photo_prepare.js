/**
 * From a file that the surveyor chose to what the store keeps: the bytes as they are, a small preview, what
 * it is worth.
 */
import { focusMeasure, lightMeasure } from '../survey/review/photo_quality.js';

export const LARGEST_BYTES = 200_000_000;
export const PREVIEW_PX = 480;
const PREVIEW_QUALITY = 0.7;

/** @type {Record<string, string>} */
const TYPES = {
  jpg: 'image/jpeg',
  jpeg: 'image/jpeg',
  png: 'image/png',
  webp: 'image/webp',
  gif: 'image/gif',
  heic: 'image/heic',
  heif: 'image/heif',
  avif: 'image/avif',
  bmp: 'image/bmp',
  tif: 'image/tiff',
  tiff: 'image/tiff'
};

/** @typedef {'photo_too_large' | 'photo_empty' | 'photo_unreadable'} PhotoErrorCode */

export class PhotoError extends Error {
  /** @param {PhotoErrorCode} code @param {unknown} [cause] */
  constructor(code, cause) {
    super(code, { cause });
    this.name = 'PhotoError';
    this.code = code;
  }
}

/** @typedef {import('../store/photo_rows.js').NewPhoto} NewPhoto */

/**
 * @param {File} file
 * @returns {Promise<NewPhoto>} without width, height, preview and measures where the browser cannot decode
 *   the picture
 */
export async function preparePhoto(file) {
  if (file.size > LARGEST_BYTES) throw new PhotoError('photo_too_large');
  if (file.size === 0) throw new PhotoError('photo_empty');
  let bytes;
  try {
    bytes = await file.arrayBuffer();
  } catch (cause) {
    throw new PhotoError('photo_unreadable', cause);
  }
  return { bytes, media_type: mediaType(file), ...(await shrink(bytes, mediaType(file))) };
}

/** @param {File} file @returns {string} */
function mediaType(file) {
  const stated = file.type.toLowerCase();
  if (/^[a-z]+\/[a-z0-9.+-]{1,60}$/.test(stated)) return stated;
  return TYPES[file.name.split('.').pop()?.toLowerCase() ?? ''] ?? 'application/octet-stream';
}

/**
 * Decoded small from the start: a picture of 100 megapixels would take 400 MB of memory whole.
 * @param {ArrayBuffer} bytes @param {string} type
 * @returns {Promise<Partial<NewPhoto>>}
 */
export async function shrink(bytes, type) {
  if (!type.startsWith('image/') || typeof createImageBitmap === 'undefined') return {};
  const blob = new Blob([bytes], { type });
  try {
    const size = await sizeOf(blob);
    const scale = Math.min(1, PREVIEW_PX / Math.max(size.width_px, size.height_px));
    const bitmap = await createImageBitmap(blob, {
      imageOrientation: 'from-image',
      resizeQuality: 'medium',
      resizeWidth: Math.max(1, Math.round(size.width_px * scale)),
      resizeHeight: Math.max(1, Math.round(size.height_px * scale))
    });
    const canvas = drawn(bitmap);
    bitmap.close();
    const preview = await encode(canvas);
    return {
      ...size,
      ...worth(canvas),
      ...(preview ? { preview: await preview.arrayBuffer(), preview_type: preview.type } : {})
    };
  } catch {
    return {}; // kept as a file; the server and others may be able to show it
  }
}

/** The size as seen, turned as the camera says; the header is enough for it. @param {Blob} blob */
async function sizeOf(blob) {
  const url = URL.createObjectURL(blob);
  try {
    const image = new Image();
    await new Promise((resolve, reject) => {
      image.onload = resolve;
      image.onerror = reject;
      image.src = url;
    });
    return { width_px: image.naturalWidth, height_px: image.naturalHeight };
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** @param {ImageBitmap} bitmap @returns {HTMLCanvasElement} */
function drawn(bitmap) {
  const canvas = document.createElement('canvas');
  canvas.width = bitmap.width;
  canvas.height = bitmap.height;
  canvas.getContext('2d', { willReadFrequently: true })?.drawImage(bitmap, 0, 0);
  return canvas;
}

/** @param {HTMLCanvasElement} canvas @returns {Promise<Blob | null>} */
function encode(canvas) {
  return new Promise((resolve) => {
    canvas.toBlob(resolve, 'image/jpeg', PREVIEW_QUALITY);
  });
}

/** How sharp and how bright its pixels are. @param {HTMLCanvasElement} canvas @returns {Partial<NewPhoto>} */
function worth(canvas) {
  const { width, height } = canvas;
  const pixels = canvas.getContext('2d')?.getImageData(0, 0, width, height).data;
  if (!pixels) return {};
  const grey = new Uint8Array(width * height);
  for (let i = 0; i < grey.length; i += 1) {
    // ITU-R BT.601
    grey[i] = (299 * pixels[4 * i] + 587 * pixels[4 * i + 1] + 114 * pixels[4 * i + 2]) / 1000;
  }
  const [focus, light] = [focusMeasure(grey, width, height), lightMeasure(grey)];
  return {
    ...(focus === null ? {} : { focus_pct: Math.round(focus * 100) / 100 }),
    brightness_pct: Math.round(light.brightness_pct * 10) / 10,
    contrast_pct: Math.round(light.contrast_pct * 10) / 10
  };
}
