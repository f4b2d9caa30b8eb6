/**
 * A zip that somebody else may have made, read piece by piece from the file: nothing is held but what is
 * asked for.
 */
import { crcOf } from '../save_all/plain_zip.js';

const END = 0x06054b50;
const CENTRAL = 0x02014b50;
const LOCAL = 0x04034b50;
const MAX_END = 65_557;
const MAX_MEMBERS = 25_000;

export class ZipError extends Error {}

/** @typedef {{offset: number, method: number, crc: number, packed: number, size: number}} Member */

/** @param {Blob} file @returns {Promise<Unzip>} */
export async function openZip(file) {
  const tail = await viewOf(file, Math.max(0, file.size - MAX_END), file.size);
  let at = tail.byteLength - 22;
  while (at >= 0 && tail.getUint32(at, true) !== END) at -= 1;
  if (at < 0) throw new ZipError('no end');
  const [count, size, offset] = [
    tail.getUint16(at + 10, true),
    tail.getUint32(at + 12, true),
    tail.getUint32(at + 16, true)
  ];
  if (count > MAX_MEMBERS || offset + size > file.size) throw new ZipError('directory');
  return new Unzip(file, membersOf(await viewOf(file, offset, offset + size), count));
}

/** @param {Blob} file @param {number} from @param {number} to @returns {Promise<DataView>} */
async function viewOf(file, from, to) {
  return new DataView(await file.slice(from, to).arrayBuffer());
}

/** @param {DataView} view @param {number} count @returns {Map<string, Member>} */
function membersOf(view, count) {
  /** @type {Map<string, Member>} */
  const members = new Map();
  let at = 0;
  for (let k = 0; k < count; k += 1) {
    if (at + 46 > view.byteLength || view.getUint32(at, true) !== CENTRAL) throw new ZipError('member');
    const [name, extra, comment] = [28, 30, 32].map((place) => view.getUint16(at + place, true));
    const next = at + 46 + name + extra + comment;
    if (next > view.byteLength) throw new ZipError('member');
    const title = new TextDecoder().decode(new Uint8Array(view.buffer, view.byteOffset + at + 46, name));
    if ((view.getUint16(at + 8, true) & 1) === 1 || members.has(title)) throw new ZipError('member');
    members.set(title, {
      method: view.getUint16(at + 10, true),
      crc: view.getUint32(at + 16, true),
      packed: view.getUint32(at + 20, true),
      size: view.getUint32(at + 24, true),
      offset: view.getUint32(at + 42, true)
    });
    at = next;
  }
  return members;
}

class Unzip {
  /** @param {Blob} file @param {Map<string, Member>} members */
  constructor(file, members) {
    this.file = file;
    this.members = members;
  }

  /** @returns {string[]} */
  get names() {
    return [...this.members.keys()];
  }

  /** @param {string} name @param {number} most bytes @returns {Promise<Uint8Array<ArrayBuffer>>} */
  async read(name, most) {
    const member = this.members.get(name);
    if (!member || member.size > most) throw new ZipError(name);
    const local = await viewOf(this.file, member.offset, member.offset + 30);
    if (local.byteLength < 30 || local.getUint32(0, true) !== LOCAL) throw new ZipError(name);
    const from = member.offset + 30 + local.getUint16(26, true) + local.getUint16(28, true);
    const packed = this.file.slice(from, from + member.packed);
    const bytes =
      member.method === 0 ? new Uint8Array(await packed.arrayBuffer()) : await inflated(packed, member, most);
    if (bytes.length !== member.size || crcOf(bytes) !== member.crc) throw new ZipError(name);
    return bytes;
  }
}

/**
 * @param {Blob} packed
 * @param {Member} member
 * @param {number} most
 * @returns {Promise<Uint8Array<ArrayBuffer>>}
 */
async function inflated(packed, { method, size }, most) {
  if (method !== 8) throw new ZipError('method');
  const reader = packed.stream().pipeThrough(new DecompressionStream('deflate-raw')).getReader();
  const out = new Uint8Array(size);
  let at = 0;
  for (;;) {
    const { done, value } = await reader.read().catch((cause) => {
      throw new ZipError('packed', { cause });
    });
    if (done) return out.subarray(0, at);
    if (at + value.length > Math.min(size, most)) {
      // it unpacks to more than it says
      await reader.cancel();
      throw new ZipError('size');
    }
    out.set(value, at);
    at += value.length;
  }
}
