/** The files that all is saved to, as webapp/records/README.md says. */

import { photoFileName } from './photo_name.js';
import { crcOf, Zip } from './plain_zip.js';

const MAX_BYTES = 2000000000; // of one file; every reader of zips takes that
const MAX_PHOTOS = 15000;
const PIECE_LENGTH = 1000000;

/** The files in the making: the first holds all rows, further ones photos that found no room in it. */
export class Output {
  constructor() {
    this.entries = 0;
    this.photos = 0;
    this.stamp = new Date().toISOString().replace(/[-:]/g, '').replace('T', '-').slice(0, 13);
    this.stores = '';
    this.separator = '';
    /** @type {Volume[]} */
    this.volumes = [new Volume()];
  }

  /** @param {string} name */
  begin(name) {
    this.volumes[0].text.add(`${this.stores ? '],' : ''}${JSON.stringify(name)}:[`);
    this.stores = name;
    this.separator = '\n';
  }

  /** @param {string} name @param {unknown} key @param {unknown} value a row of that store */
  row(name, key, value) {
    const kept =
      name === 'photos'
        ? this.photo(/** @type {import('../store/photo_rows.js').PhotoRow} */ (value))
        : value;
    this.volumes[0].text.add(this.separator + JSON.stringify([key, kept], plain));
    this.separator = ',\n';
    if (name === 'entries') this.entries += 1;
  }

  /** @param {import('../store/photo_rows.js').PhotoRow} row @returns {object} the row without what lies beside it, or can be made again */
  photo(row) {
    const { bytes, preview, ...facts } = row;
    if (!(bytes instanceof ArrayBuffer)) return row;
    let last = this.volumes[this.volumes.length - 1];
    if (
      last.photos.length &&
      (last.zip.size + bytes.byteLength > MAX_BYTES || last.photos.length >= MAX_PHOTOS)
    ) {
      last = new Volume();
      last.text.add('"":[');
      this.volumes.push(last);
    }
    last.zip.add(photoFileName(row.sha256, row.media_type), new Blob([bytes]), crcOf(new Uint8Array(bytes)));
    last.photos.push({ sha256: row.sha256, media_type: row.media_type, size_bytes: bytes.byteLength });
    this.photos += 1;
    return facts;
  }

  /** @returns {File[]} */
  end() {
    return this.volumes.map((volume, i) => {
      const part = this.volumes.length > 1 ? `-${i + 1}of${this.volumes.length}` : '';
      const blob = volume.end({ part: i + 1, parts: this.volumes.length });
      return new File([blob], `fallbook-phone-${this.stamp}${part}.fallbook.zip`, {
        type: 'application/zip'
      });
    });
  }
}

class Volume {
  constructor() {
    this.zip = new Zip();
    this.text = new LongText();
    /** @type {Array<{sha256: string, media_type: string, size_bytes: number}>} */
    this.photos = [];
    this.text.add('{"format":"fallbook-phone","version":1,"stores":{');
  }

  /** @param {Object<string, number>} place @returns {Blob} */
  end(place) {
    this.text.add(`]},"photos":${JSON.stringify(this.photos)},${JSON.stringify(place).slice(1)}\n`);
    const { blob, crc } = this.text.end();
    this.zip.add('phone.json', blob, crc);
    return this.zip.end();
  }
}

/** Bytes, for which JSON has no word. @param {string} _key @param {unknown} value */
function plain(_key, value) {
  const isView = ArrayBuffer.isView(value);
  if (!isView && !(value instanceof ArrayBuffer)) return value;
  const bytes = isView
    ? new Uint8Array(value.buffer, value.byteOffset, value.byteLength)
    : new Uint8Array(value);
  return { $base64: btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join('')) };
}

/** A text handed to the browser piece by piece, which keeps it on disk. */
class LongText {
  constructor() {
    /** @type {Blob[]} */
    this.blobs = [];
    this.waiting = '';
    this.crc = 0;
  }

  /** @param {string} text */
  add(text) {
    this.waiting += text;
    if (this.waiting.length > PIECE_LENGTH) this.pass();
  }

  pass() {
    const bytes = new TextEncoder().encode(this.waiting);
    this.crc = crcOf(bytes, this.crc);
    this.blobs.push(new Blob([bytes]));
    this.waiting = '';
  }

  end() {
    this.pass();
    return { blob: new Blob(this.blobs), crc: this.crc };
  }
}
