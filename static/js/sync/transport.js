/** Bytes to the server and back. Every failure is a SyncError that says whether to try again. */

const ANSWER_WITHIN_MS = 120_000;
const GZIP_FROM_CHARACTERS = 1024;

/** @typedef {{headers: Record<string, string>, body: Blob}} Packed */
/** @typedef {import('./wire.js').SyncRequest} SyncRequest */
/** @typedef {import('./wire.js').SyncAnswer} SyncAnswer */

export class SyncError extends Error {
  /**
   * Its message is the server's sentence, or the code: then the catalogue has the words, under fault.
   * @param {string} code
   * @param {{message?: string, status?: number, retry?: boolean, body?: unknown, cause?: unknown}} [more]
   */
  constructor(code, more = {}) {
    super(more.message ?? code, { cause: more.cause });
    this.name = 'SyncError';
    this.code = code;
    this.status = more.status ?? 0;
    this.retry = more.retry ?? true;
    this.body = more.body;
  }
}

/**
 * @param {string} text
 * @returns {Promise<Blob>} a browser sends a Blob as it lies, while it copies the bytes of a buffer
 */
function gzip(text) {
  const packing = new CompressionStream('gzip');
  const packed = new Response(packing.readable).blob();
  const writer = packing.writable.getWriter();
  // Whoever waits for the result hears of a fault.
  writer.write(new TextEncoder().encode(text)).catch(() => {});
  writer.close().catch(() => {});
  return packed;
}

/** @param {SyncRequest} request @returns {Promise<Packed>} */
async function pack(request) {
  const text = JSON.stringify(request);
  /** @type {Record<string, string>} */
  const headers = { 'Content-Type': 'application/json', Accept: 'application/json' };
  if (text.length < GZIP_FROM_CHARACTERS || typeof CompressionStream === 'undefined')
    return { headers, body: new Blob([text]) };
  return { headers: { ...headers, 'Content-Encoding': 'gzip' }, body: await gzip(text) };
}

/** What may stand between the quotes of a header. @param {string} text @returns {string} */
function quotable(text) {
  return String(text).replace(/[^ !#-[\]-~]/g, '');
}

/** @param {Response} answer @returns {Promise<SyncError>} */
async function refusal(answer) {
  const body = await answer.json().catch(() => undefined);
  const first = body?.errors?.[0];
  if (!first?.code)
    return new SyncError(`http_${answer.status}`, { status: answer.status, retry: answer.status >= 500 });
  return new SyncError(first.code, {
    message: first.message,
    status: answer.status,
    retry: Boolean(body.retry),
    body
  });
}

/**
 * Where a part begins, and how long the whole is, as far as the server says.
 * @param {Response} answer
 * @returns {{start: number, whole: number}}
 */
function partOf(answer) {
  const range = /^bytes (\d+)-\d+\/(\d+|\*)$/.exec(answer.headers.get('Content-Range') ?? '');
  if (answer.status === 206) return { start: Number(range?.[1] ?? NaN), whole: Number(range?.[2]) || 0 };
  return { start: 0, whole: Number(answer.headers.get('Content-Length')) || 0 };
}

/** The link broke. @param {unknown} cause @returns {never} */
function cut(cause) {
  throw new SyncError('offline', { cause });
}

/** @typedef {{restart: () => Promise<void>, take: (bytes: Uint8Array) => Promise<void>}} Sink */

/**
 * Hand on the bytes of an answer as they come, if they are those that were asked for.
 * @param {Response} answer
 * @param {{from: number, size: number}} wanted
 * @param {Sink} sink
 * @param {() => void} came is called whenever something has come
 * @returns {Promise<void>}
 */
async function passOn(answer, { from, size }, sink, came) {
  const { start, whole } = partOf(answer);
  if (size && whole && whole !== size) throw new SyncError('not_the_server');
  if (start === 0 && from > 0) await sink.restart();
  else if (start !== from) throw new SyncError('not_the_server');
  const reader = /** @type {ReadableStream<Uint8Array>} */ (answer.body).getReader();
  for (let at = start; ; ) {
    const { done, value } = await reader.read().catch(cut);
    if (done && at < whole) cut(undefined); // ended as if that were all
    if (done) return;
    at += value.byteLength;
    came();
    await sink.take(value);
  }
}

/** @param {string} base64 */
function hexOf(base64) {
  return Array.from(atob(base64), (one) => one.charCodeAt(0).toString(16).padStart(2, '0')).join('');
}

/** @param {Response} answer @returns {Promise<any>} that says ok; what else is in it is not checked here */
async function json(answer) {
  if (!answer.headers.get('Content-Type')?.includes('json')) throw new SyncError('not_the_server');
  const body = await answer.json().catch(cut);
  if (body?.ok !== true) throw new SyncError('not_the_server');
  return body;
}

/**
 * @param {{fetch: typeof fetch, withinMs?: number}} instruments within a fourth of which something must come
 *   where much is to come
 */
export function makeTransport({ fetch, withinMs = ANSWER_WITHIN_MS }) {
  /**
   * The time covers the body too: one that stops half-way must not hold the one runner for ever.
   * @template T @param {string} url @param {RequestInit} init @param {(answer: Response) => Promise<T>} read
   * @returns {Promise<T>}
   */
  async function send(url, init, read) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), withinMs);
    try {
      const answer = await fetch(url, {
        cache: 'no-store',
        credentials: 'same-origin',
        ...init,
        signal: stop.signal
      }).catch(cut);
      if (!answer.ok) throw await refusal(answer);
      return await read(answer);
    } finally {
      clearTimeout(timer);
    }
  }

  return {
    /** @param {SyncRequest} request @returns {Promise<SyncAnswer>} */
    async exchange(request) {
      const { headers, body } = await pack(request);
      const answer = await send('/api/sync', { method: 'POST', headers, body }, json);
      answer.bytes_sent = body.size;
      return answer;
    },

    /**
     * The bytes of a photo as they come, from one of them on. A link that gives nothing for a while is given
     * up.
     * @param {string} sha256
     * @param {number} from
     * @param {number} size as its record says; 0 where it does not
     * @param {Sink} sink
     * @returns {Promise<void>}
     */
    async photoBytes(sha256, from, size, sink) {
      const stop = new AbortController();
      let timer = setTimeout(() => stop.abort(), withinMs / 4);
      const came = () => {
        clearTimeout(timer);
        timer = setTimeout(() => stop.abort(), withinMs / 4);
      };
      try {
        const headers = from > 0 ? { Range: `bytes=${from}-` } : undefined;
        const init = {
          cache: /** @type {const} */ ('no-store'),
          credentials: /** @type {const} */ ('same-origin'),
          headers,
          signal: stop.signal
        };
        const answer = await fetch(`/media/photos/${sha256}`, init).catch(cut);
        if (!answer.ok) throw await refusal(answer);
        await passOn(answer, { from, size }, sink, came);
      } finally {
        clearTimeout(timer);
        stop.abort();
      }
    },

    /** @param {string} sha256 @returns {Promise<{offset: number, complete: boolean}>} */
    async photoOffset(sha256) {
      return send(`/api/photos/${sha256}`, { method: 'HEAD' }, async ({ headers }) => {
        const offset = Number(headers.get('Upload-Offset') ?? NaN);
        if (!Number.isFinite(offset)) throw new SyncError('not_the_server');
        return { offset, complete: headers.get('Upload-Complete') === '?1' };
      });
    },

    /**
     * Whether the server has just hashed its copy of a photo and found it right.
     * @param {string} sha256
     * @returns {Promise<boolean>}
     */
    async photoProved(sha256) {
      const init = { method: 'HEAD', headers: { 'Want-Repr-Digest': 'sha-256=1' } };
      return send(`/api/photos/${sha256}`, init, async ({ headers }) => {
        const digest = /(?:^|,\s*)sha-256=:([A-Za-z0-9+/]+=*):/.exec(headers.get('Repr-Digest') ?? '');
        return headers.get('Upload-Complete') === '?1' && digest !== null && hexOf(digest[1]) === sha256;
      });
    },

    /**
     * The digest of the vector of a job, of which the server has just read and proved every entry.
     * @param {string} jobId
     * @returns {Promise<string>}
     */
    async jobProof(jobId) {
      const { digest } = await send(`/api/jobs/${jobId}/proof`, { method: 'GET' }, json);
      if (typeof digest !== 'string') throw new SyncError('not_the_server');
      return digest;
    },

    /**
     * @param {string} sha256
     * @param {{offset: number, total: number, mediaType: string, piece: Uint8Array<ArrayBuffer>}} part
     * @returns {Promise<{offset: number, complete: boolean, note?: string}>}
     */
    async photoPiece(sha256, { offset, total, mediaType, piece }) {
      const headers = {
        'Content-Type': mediaType,
        'Upload-Offset': String(offset),
        'Upload-Length': String(total)
      };
      return send(`/api/photos/${sha256}`, { method: 'PUT', headers, body: new Blob([piece]) }, json);
    },

    /**
     * Several whole photos, one behind the other.
     * @param {Array<{sha256: string, media_type: string, bytes: ArrayBuffer}>} photos
     * @returns {Promise<Array<{sha256: string, offset: number, complete: boolean, note?: string}>>} what came
     *   of each
     */
    async photosTogether(photos) {
      const parts = photos.map(
        (one) => `"${one.sha256}";length=${one.bytes.byteLength};type="${quotable(one.media_type)}"`
      );
      const headers = { 'Content-Type': 'application/octet-stream', 'Upload-Parts': parts.join(', ') };
      const body = new Blob(photos.map(({ bytes }) => bytes));
      const answer = await send('/api/photos', { method: 'PUT', headers, body }, json);
      if (!Array.isArray(answer.photos)) throw new SyncError('not_the_server');
      return answer.photos;
    }
  };
}

/** @typedef {ReturnType<typeof makeTransport>} Transport */
