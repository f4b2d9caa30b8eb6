/**
 * Where a picture was taken, out of its file and nothing else: EXIF keeps every other byte, its length and
 * its pixels. The GPS part of EXIF (2.32, section 4.6.6) and the GPS values of XMP are overwritten in place.
 * What a maker hides elsewhere is not known here.
 */
import { crcOf } from '../save_all/plain_zip.js';

/** @typedef {[number, number[]]} Patch offset in the file and the bytes that come there */

const GPS_POINTER = 0x8825;
const MAX_FIELDS = 400;
/** Bytes of one value by its type. @type {Object<number, number>} */
const SIZES = { 1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4 };
const EXIF = [0x45, 0x78, 0x69, 0x66, 0, 0];
const PNG_CHUNK = [0x65, 0x58, 0x49, 0x66]; // eXIf
const WEBP_CHUNK = [0x45, 0x58, 0x49, 0x46]; // EXIF
const XMP_START =
  /exif:GPS[A-Za-z]+\s*=\s*("[^"]*"|'[^']*')|<exif:GPS([A-Za-z]+)\b[^>]*>[^<]*<\/exif:GPS\2>/g;
const GPS_WORD = [0x65, 0x78, 0x69, 0x66, 0x3a, 0x47, 0x50, 0x53]; // exif:GPS

/** @param {Uint8Array<ArrayBuffer>} bytes @returns {{bytes: Uint8Array<ArrayBuffer>, removed: boolean}} */
export function withoutLocation(bytes) {
  const patches = locationPatches(bytes);
  if (patches.length === 0) return { bytes, removed: false };
  const copy = bytes.slice();
  for (const [at, put] of patches) copy.set(put, at);
  return { bytes: copy, removed: true };
}

/** @param {Uint8Array | number[]} file @returns {Patch[]} */
export function locationPatches(file) {
  const bytes = file instanceof Uint8Array ? file : Uint8Array.from(file);
  /** @type {Patch[]} */
  const patches = [];
  for (const at of [0, ...after(bytes, EXIF), ...after(bytes, WEBP_CHUNK, 4)])
    patches.push(...tiffPatches(bytes, at));
  for (const at of after(bytes, PNG_CHUNK)) patches.push(...pngPatches(bytes, at));
  patches.push(...xmpPatches(bytes));
  return patches;
}

/**
 * Places just behind each occurrence of a mark.
 * @param {Uint8Array} bytes
 * @param {number[]} mark
 * @param {number} [gap]
 */
function after(bytes, mark, gap = 0) {
  const found = [];
  for (let at = bytes.indexOf(mark[0]); at >= 0; at = bytes.indexOf(mark[0], at + 1)) {
    if (mark.every((byte, k) => bytes[at + k] === byte)) found.push(at + mark.length + gap);
  }
  return found;
}

/** @param {Uint8Array} bytes @param {number} start of a TIFF header, if there is one @returns {Patch[]} */
function tiffPatches(bytes, start) {
  const order = String.fromCharCode(...bytes.subarray(start, start + 2));
  if (order !== 'II' && order !== 'MM') return [];
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const little = order === 'II';
  const u16 = (/** @type {number} */ at) =>
    at >= 0 && at + 2 <= bytes.length ? view.getUint16(at, little) : -1;
  const u32 = (/** @type {number} */ at) =>
    at >= 0 && at + 4 <= bytes.length ? view.getUint32(at, little) : -1;
  if (u16(start + 2) !== 42) return [];
  const directory = start + u32(start + 4);
  const count = u16(directory);
  if (count < 1 || count > MAX_FIELDS || directory + 2 + 12 * count > bytes.length) return [];
  for (let k = 0; k < count; k += 1) {
    const at = directory + 2 + 12 * k;
    if (u16(at) !== GPS_POINTER) continue;
    return [
      ...withoutField(bytes, little, directory, count, k),
      ...blanked(bytes, start, start + u32(at + 8), { u16, u32 })
    ];
  }
  return [];
}

/**
 * The directory without one field: those behind it move up, and the room that is left at the end is zero.
 * @param {Uint8Array} bytes
 * @param {boolean} little
 * @param {number} directory
 * @param {number} count
 * @param {number} k
 * @returns {Patch[]}
 */
function withoutField(bytes, little, directory, count, k) {
  const at = directory + 2 + 12 * k;
  const end = Math.min(directory + 2 + 12 * count + 4, bytes.length); // with the offset of the next directory
  const fewer = new DataView(new ArrayBuffer(2));
  fewer.setUint16(0, count - 1, little);
  return [
    [directory, [...new Uint8Array(fewer.buffer)]],
    [at, [...bytes.subarray(at + 12, end), ...new Array(Math.min(12, end - at)).fill(0)]]
  ];
}

/**
 * @param {Uint8Array} bytes @param {number} start @param {number} directory of the GPS part
 * @param {{u16: (at: number) => number, u32: (at: number) => number}} read @returns {Patch[]}
 */
function blanked(bytes, start, directory, { u16, u32 }) {
  const count = u16(directory);
  const length = 2 + 12 * count + 4;
  if (count < 0 || count > MAX_FIELDS || directory + length > bytes.length) return [];
  /** @type {Patch[]} */
  const patches = [];
  for (let k = 0; k < count; k += 1) {
    const at = directory + 2 + 12 * k;
    const size = (SIZES[u16(at + 2)] ?? 0) * u32(at + 4);
    const place = start + u32(at + 8);
    if (size > 4 && size < 65_536 && place > start && place + size <= bytes.length)
      patches.push([place, new Array(size).fill(0)]);
  }
  patches.push([directory, new Array(length).fill(0)]);
  return patches;
}

/**
 * A chunk of a PNG ends in a sum over what it holds.
 * @param {Uint8Array} bytes
 * @param {number} at
 * @returns {Patch[]}
 */
function pngPatches(bytes, at) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = at >= 8 ? view.getUint32(at - 8) : 0;
  if (at + size + 4 > bytes.length) return [];
  const patches = tiffPatches(bytes.subarray(at, at + size), 0);
  if (patches.length === 0) return [];
  const chunk = bytes.slice(at - 4, at + size);
  for (const [place, put] of patches) chunk.set(put, place + 4);
  const sum = new DataView(new ArrayBuffer(4));
  sum.setUint32(0, crcOf(chunk));
  return [
    ...patches.map(([place, put]) => /** @type {Patch} */ ([place + at, put])),
    [at + size, [...new Uint8Array(sum.buffer)]]
  ];
}

/** @param {Uint8Array} bytes @returns {Patch[]} */
function xmpPatches(bytes) {
  const places = after(bytes, GPS_WORD);
  if (places.length === 0) return [];
  /** @type {Patch[]} */
  const patches = [];
  const from = Math.max(0, places[0] - 64);
  const to = Math.min(bytes.length, places[places.length - 1] + 512);
  const text = latin(bytes.subarray(from, to));
  for (const { index, 0: found } of text.matchAll(XMP_START))
    patches.push([from + index, new Array(found.length).fill(0x20)]);
  return patches;
}

/** One character a byte. @param {Uint8Array} bytes @returns {string} */
function latin(bytes) {
  const parts = [];
  for (let at = 0; at < bytes.length; at += 8192)
    parts.push(String.fromCharCode(...bytes.subarray(at, at + 8192)));
  return parts.join('');
}
