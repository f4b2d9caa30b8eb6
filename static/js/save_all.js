/*
 * Saves all that this phone holds to a file, when the app itself does not run: a classic script that needs
 * nothing of the app. It copies the rows of the database as they lie there, whatever they are (see
 * webapp/records/README.md).
 *
 * `fallbookSaveKey()` makes the key "Save everything to a file" with the place where it says how it went.
 */
(() => {
  'use strict';

  const NAME = 'fallbook';
  const OPEN_WITHIN_MS = 10000;
  const MAX_BYTES = 2000000000; // of one file; every reader of zips takes that
  const MAX_PHOTOS = 15000;
  const PIECE_LENGTH = 1000000;
  const place = document.getElementById('start-words');
  const words = place ? JSON.parse(place.textContent || '') : {};
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
  const CRC_TABLE = Array.from({ length: 256 }, (_, n) => {
    let c = n;
    for (let k = 0; k < 8; k += 1) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
    return c;
  });

  /**
   * A sentence of the page's own: the app, which has them all, may not be running.
   * @param {string} key
   * @param {Object<string, string | number>} [values]
   * @returns {string}
   */
  function t(key, values = {}) {
    const [section, name] = key.split('.');
    const found = (words[section] || {})[name] || key;
    const template =
      typeof found === 'string'
        ? found
        : found[new Intl.PluralRules(words._language).select(Number(values.n))] || found.other;
    return template.replace(/\{(\w+)\}/g, (/** @type {string} */ _, /** @type {string} */ one) =>
      String(values[one])
    );
  }

  /** @typedef {{files: File[], entries: number, photos: number}} Saved */
  /** @typedef {(words: string) => void} Tell */

  Object.assign(window, { fallbookSaveKey: saveKey });

  /** @returns {HTMLElement} */
  function saveKey() {
    const place = document.createElement('div');
    const key = document.createElement('button');
    const status = document.createElement('div');
    let busy = false;
    key.type = 'button';
    key.className = 'button action wide';
    key.textContent = t('save.key');
    place.className = 'stack';
    status.className = 'stack';
    status.setAttribute('role', 'status');
    key.addEventListener('click', () => {
      if (busy) return;
      busy = true;
      const over = (/** @type {() => void} */ show) => {
        busy = false;
        show();
      };
      say(status, t('save.reading'));
      collect((words) => say(status, words)).then(
        (saved) => over(() => offer(status, saved)),
        (error) => over(() => say(status, error.message))
      );
    });
    place.append(key, status);
    return place;
  }

  /** @param {HTMLElement} place @param {string} words */
  function say(place, words) {
    const line = document.createElement('p');
    line.textContent = words;
    place.textContent = '';
    place.append(line);
  }

  /** @param {HTMLElement} place @param {Saved} saved */
  function offer(place, { files, entries, photos }) {
    say(
      place,
      t('save.made', { entries: t('save.entries', { n: entries }), photos: t('save.photos', { n: photos }) })
    );
    const lines = files.map((file) => {
      const line = document.createElement('p');
      const link = document.createElement('a');
      link.href = URL.createObjectURL(file);
      link.download = file.name;
      link.textContent = file.name;
      line.append(link);
      if (navigator.canShare && navigator.canShare({ files: [file] })) line.append(' ', shareKey(file));
      return line;
    });
    place.append(...lines);
    const first = /** @type {HTMLElement} */ (lines[0].querySelector('a'));
    first.click();
  }

  /** @param {File} file */
  function shareKey(file) {
    const key = document.createElement('button');
    key.type = 'button';
    key.className = 'button';
    key.textContent = t('save.share');
    key.addEventListener('click', () => {
      navigator.share({ files: [file] }).catch(() => undefined);
    }); // put away: the link is there
    return key;
  }

  /** @param {Tell} tell @returns {Promise<Saved>} rejects with a sentence */
  function collect(tell) {
    return open().then((db) =>
      readAll(db, tell).then(
        (saved) => {
          db.close();
          return saved;
        },
        (error) => {
          db.close();
          throw error;
        }
      )
    );
  }

  /**
   * Whatever version is there; a database that is not there must not come into being.
   * @returns {Promise<IDBDatabase>}
   */
  function open() {
    return new Promise((resolve, reject) => {
      let late = false;
      const timer = setTimeout(() => {
        late = true;
        reject(new Error(t('save.no_answer')));
      }, OPEN_WITHIN_MS);
      const request = indexedDB.open(NAME);
      request.onupgradeneeded = () => {
        /** @type {IDBTransaction} */ (request.transaction).abort();
      };
      request.onerror = () => {
        clearTimeout(timer);
        const name = request.error ? request.error.name : '';
        reject(new Error(name === 'AbortError' ? t('save.nothing') : t('save.not_opened', { name })));
      };
      request.onsuccess = () => {
        clearTimeout(timer);
        const db = request.result;
        db.onversionchange = () => db.close();
        if (late) db.close();
        else resolve(db);
      };
    });
  }

  /**
   * Row after row in one transaction, so that everything is of one moment.
   * @param {IDBDatabase} db
   * @param {Tell} tell
   * @returns {Promise<Saved>}
   */
  function readAll(db, tell) {
    return new Promise((resolve, reject) => {
      const names = Array.from(db.objectStoreNames);
      if (names.length === 0) throw new Error(t('save.nothing'));
      const tx = db.transaction(names, 'readonly');
      const out = new Output();
      tx.onabort = () =>
        reject(new Error(tx.error ? t('save.not_read', { name: tx.error.name }) : t('save.broke_off')));
      tx.oncomplete = () => resolve({ files: out.end(), entries: out.entries, photos: out.photos });
      const readStore = (/** @type {string | undefined} */ name) => {
        if (!name) return;
        out.begin(name);
        const request = tx.objectStore(name).openCursor();
        request.onsuccess = () => {
          const cursor = request.result;
          if (!cursor) return readStore(names[names.indexOf(name) + 1]);
          out.row(name, cursor.key, cursor.value);
          if ((out.entries + out.photos) % 200 === 0)
            tell(
              t('save.so_far', {
                entries: t('save.entries', { n: out.entries }),
                photos: t('save.photos', { n: out.photos })
              })
            );
          return cursor.continue();
        };
      };
      readStore(names[0]);
    });
  }

  /** The files in the making: the first holds all rows, further ones photos that found no room in it. */
  class Output {
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

    /** @param {string} name @param {unknown} key @param {any} value a row of that store */
    row(name, key, value) {
      const kept = name === 'photos' ? this.photo(value) : value;
      this.volumes[0].text.add(this.separator + JSON.stringify([key, kept], plain));
      this.separator = ',\n';
      if (name === 'entries') this.entries += 1;
    }

    /** @param {import('./store/photo_rows.js').PhotoRow} row @returns {object} the row without what lies beside it, or can be made again */
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
      last.zip.add(
        `photos/${row.sha256}.${ENDINGS[row.media_type] || 'bin'}`,
        new Blob([bytes]),
        crcOf(new Uint8Array(bytes))
      );
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

  /** @param {Uint8Array} bytes @param {number} [before] of the bytes before these @returns {number} */
  function crcOf(bytes, before) {
    let crc = ~(before || 0);
    for (let i = 0; i < bytes.length; i += 1) crc = CRC_TABLE[(crc ^ bytes[i]) & 0xff] ^ (crc >>> 8);
    return ~crc >>> 0;
  }

  /** A zip with nothing compressed. */
  class Zip {
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
})();
