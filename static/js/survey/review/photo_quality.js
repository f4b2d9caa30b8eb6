/**
 * What a photo is worth: how sharp and how bright its pixels are. Twin of
 * webapp/survey/review/photo_quality.py.
 */
import { SurveyError } from '../errors.js';

const MAX_PX = 240; // finer than this, noise looks like detail
const MIN_SIDE_PX = 48; // a smaller picture says nothing about focus
const WHITE = 255;
const FLOOR = 100; // grey levels squared: an even tone is not sharp for the noise of its last bits

/** @typedef {ArrayLike<number>} Greys grey levels 0 to 255, row after row */

/** @param {Greys} grey @param {number} widthPx @param {number} heightPx @returns {number | null} */
export function focusMeasure(grey, widthPx, heightPx) {
  if (grey.length !== widthPx * heightPx || grey.length === 0)
    throw new SurveyError('picture_incomplete', 'grey');
  const step = Math.floor((Math.max(widthPx, heightPx) + MAX_PX - 1) / MAX_PX);
  const [width, height] = [Math.floor(widthPx / step), Math.floor(heightPx / step)];
  if (width < MIN_SIDE_PX || height < MIN_SIDE_PX) return null;
  const sums = sumsOf(grey, widthPx, width, height, step);
  let [total, total2, edge, edge2] = [0, 0, 0, 0];
  for (let y = 1; y < height - 1; y += 1) {
    const row = y * width;
    for (let i = row + 1; i < row + width - 1; i += 1) {
      const here = sums[i];
      const bend = sums[i - 1] + sums[i + 1] + sums[i - width] + sums[i + width] - 4 * here;
      total += here;
      total2 += here * here;
      edge += bend;
      edge2 += bend * bend;
    }
  }
  const count = (width - 2) * (height - 2);
  const spread = (total2 - (total * total) / count) / count;
  return (100 * ((edge2 - (edge * edge) / count) / count)) / (spread + FLOOR * step ** 4);
}

/** @param {Greys} grey @returns {{brightness_pct: number, contrast_pct: number}} */
export function lightMeasure(grey) {
  if (grey.length === 0) throw new SurveyError('picture_incomplete', 'grey');
  const counts = new Array(WHITE + 1).fill(0);
  let total = 0;
  for (let i = 0; i < grey.length; i += 1) {
    counts[grey[i]] += 1;
    total += grey[i];
  }
  const [low, high] = [levelAt(counts, 0.05 * grey.length), levelAt(counts, 0.95 * grey.length)];
  return { brightness_pct: (100 * total) / grey.length / WHITE, contrast_pct: (100 * (high - low)) / WHITE };
}

/**
 * @param {import('../../records/types.js').PhotoFields} fields
 * @param {Record<import('../../records/tables.js').LimitName, number>} limits
 * @returns {Array<'photo_dark' | 'photo_bright' | 'photo_unsharp'>}
 */
export function photoFaults(fields, limits) {
  if (fields.shows_enough) return [];
  const [bright, contrast] = [fields.brightness_pct ?? null, fields.contrast_pct ?? null];
  if (bright !== null && contrast !== null && contrast < limits.even_pct) {
    if (bright < limits.dark_pct) return ['photo_dark'];
    if (bright > limits.bright_pct) return ['photo_bright'];
  }
  const focus = fields.focus_pct ?? null;
  return focus !== null && focus < limits.least_focus ? ['photo_unsharp'] : [];
}

/**
 * The greys of each square of `step` by `step` pixels, added up.
 * @param {Greys} grey
 * @param {number} widthPx
 * @param {number} width
 * @param {number} height
 * @param {number} step
 * @returns {Greys}
 */
function sumsOf(grey, widthPx, width, height, step) {
  if (step === 1) return grey;
  const sums = [];
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const first = y * step * widthPx + x * step;
      let sum = 0;
      for (let r = 0; r < step; r += 1)
        for (let c = 0; c < step; c += 1) sum += grey[first + r * widthPx + c];
      sums.push(sum);
    }
  }
  return sums;
}

/**
 * The grey level up to which so many pixels lie.
 * @param {number[]} counts
 * @param {number} rank
 * @returns {number}
 */
function levelAt(counts, rank) {
  let below = 0;
  for (let level = 0; level <= WHITE; level += 1) {
    below += counts[level];
    if (below >= rank && counts[level]) return level;
  }
  return WHITE;
}
