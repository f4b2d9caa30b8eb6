/** The zip that a job, or all of a phone, is saved in: of browsers that the app does not start in, too. */

const CRC_TABLE = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

/** @param {Uint8Array} bytes @param {number} [before] of the bytes before these @returns {number} */
export function crcOf(bytes, before) {
  let crc = ~(before || 0);
  for (let i = 0; i < bytes.length; i += 1) crc = CRC_TABLE[(crc ^ bytes[i]) & 0xff] ^ (crc >>> 8);
  return ~crc >>> 0;
}

/** A zip with nothing compressed. */
export class Zip {
  constructor() {
    /** @type {BlobPart[]} */
    this.parts = [];
    /** @type {BlobPart[]} */
    this.directory = [];
    this.size = 0;
    this.files = 0;
  }

  /** @param {string} name @param {Blob} blob @param {number} crc */
  add(name, blob, crc) {
    const title = new TextEncoder().encode(name);
    const local = Zip.header(0x04034b50, 30, title.length, crc, blob.size);
    const central = Zip.header(0x02014b50, 46, title.length, crc, blob.size);
    central.setUint32(42, this.size, true);
    this.parts.push(local.buffer, title, blob);
    this.directory.push(central.buffer, title);
    this.size += 30 + title.length + blob.size;
    this.files += 1;
  }

  /**
   * Local and central headers share all but their start.
   * @param {number} signature
   * @param {number} size
   * @param {number} nameLength
   * @param {number} crc
   * @param {number} length
   */
  static header(signature, size, nameLength, crc, length) {
    const view = new DataView(new ArrayBuffer(size));
    const at = size === 46 ? 6 : 4;
    view.setUint32(0, signature, true);
    if (size === 46) view.setUint16(4, 20, true);
    view.setUint16(at, 20, true);
    view.setUint16(at + 2, 0x0800, true); // names are UTF-8
    view.setUint16(at + 8, 0x21, true); // 1 January 1980
    view.setUint32(at + 10, crc, true);
    view.setUint32(at + 14, length, true);
    view.setUint32(at + 18, length, true);
    view.setUint16(at + 22, nameLength, true);
    return view;
  }

  /** @returns {Blob} */
  end() {
    const directory = new Blob(this.directory);
    const end = new DataView(new ArrayBuffer(22));
    end.setUint32(0, 0x06054b50, true);
    end.setUint16(8, this.files, true);
    end.setUint16(10, this.files, true);
    end.setUint32(12, directory.size, true);
    end.setUint32(16, this.size, true);
    return new Blob([...this.parts, directory, end.buffer], { type: 'application/zip' });
  }
}
