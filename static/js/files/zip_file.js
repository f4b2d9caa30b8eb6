/** A zip with nothing compressed, so that the phone needs no library to hand a job over. */

/** @type {Uint32Array | null} */
let table = null;
const MAX_BYTES = 4_000_000_000;
const MAX_FILES = 25_000;

/** @returns {Uint32Array} */
function crcTable() {
  table ??= Uint32Array.from({ length: 256 }, (_, n) => {
    let c = n;
    for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
    return c >>> 0;
  });
  return table;
}

/** @param {Uint8Array} bytes @returns {number} */
export function crc32(bytes) {
  const lookup = crcTable();
  let crc = 0xffffffff;
  for (const byte of bytes) crc = lookup[(crc ^ byte) & 0xff] ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}

/** A zip in the making. What was added is the browser's to keep, on disk where it is large. */
export class ZipFile {
  /** @type {Blob[]} */
  #parts = [];
  /** @type {Blob[]} */
  #directory = [];
  #offset = 0;
  #directorySize = 0;

  /** @param {string} name @param {Uint8Array<ArrayBuffer>} bytes */
  add(name, bytes) {
    const title = new TextEncoder().encode(name);
    const length = 30 + title.length + bytes.length;
    if (this.#offset + length > MAX_BYTES || this.#directory.length >= MAX_FILES) throw new RangeError('zip');
    const crc = crc32(bytes);
    const local = header(0x04034b50, 30, title.length, crc, bytes.length);
    const central = header(0x02014b50, 46, title.length, crc, bytes.length);
    central.setUint32(42, this.#offset, true);
    this.#parts.push(new Blob([local.buffer, title, bytes]));
    this.#directory.push(new Blob([central.buffer, title]));
    this.#offset += length;
    this.#directorySize += 46 + title.length;
  }

  /** @returns {Blob} */
  done() {
    const end = new DataView(new ArrayBuffer(22));
    end.setUint32(0, 0x06054b50, true);
    end.setUint16(8, this.#directory.length, true);
    end.setUint16(10, this.#directory.length, true);
    end.setUint32(12, this.#directorySize, true);
    end.setUint32(16, this.#offset, true);
    return new Blob([...this.#parts, ...this.#directory, end.buffer], { type: 'application/zip' });
  }
}

/**
 * Local and central headers share all but their start.
 * @param {number} signature
 * @param {number} size
 * @param {number} nameLength
 * @param {number} crc
 * @param {number} length
 */
function header(signature, size, nameLength, crc, length) {
  const view = new DataView(new ArrayBuffer(size));
  const at = size === 46 ? 6 : 4;
  view.setUint32(0, signature, true);
  if (size === 46) view.setUint16(4, 20, true);
  view.setUint16(at, 20, true);
  view.setUint16(at + 2, 0x0800, true); // names are UTF-8
  view.setUint16(at + 8, 0x21, true); // 1 January 1980: no clock in the file
  view.setUint32(at + 10, crc, true);
  view.setUint32(at + 14, length, true);
  view.setUint32(at + 18, length, true);
  view.setUint16(at + 22, nameLength, true);
  return view;
}
