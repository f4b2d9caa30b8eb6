/**
 * The second part of the app (second.js): fetched once the first screen is there, out of the worker's cache
 * where it is kept. The page names it by the hash of its content, and it adds itself only to the first part
 * that it was made for, so that two releases are never mixed.
 */

import { trustedScript } from './worker.js';

const PATIENCE_MS = 60_000;
const FOUND_WITHIN_MS = 20_000;

/** @typedef {typeof import('../second.js')} Second */
/** @typedef {'no_signal' | 'server' | 'new_release' | 'damaged'} Reason   as in kept.js */

/** Why the second part is not here yet. */
export class PartError extends Error {
  /** @param {Reason} reason */
  constructor(reason) {
    super(`part_${reason}`);
    this.name = 'PartError';
    this.reason = reason;
    this.code = `part_${reason}`;
  }
}

/** @returns {SecondPart} */
export function makeSecondPart() {
  return new SecondPart();
}

export class SecondPart {
  /** @type {Promise<Second> | undefined} */
  #coming;

  /**
   * Have it here as soon as it costs no network that the worker needs: when this page gets it from the
   * worker, or where there is none.
   * @param {import('./kept.js').Kept} kept
   */
  follow(kept) {
    const { serviceWorker } = navigator;
    const look = () => {
      const { phase } = kept.state;
      const isKept = phase === 'ready' && Boolean(serviceWorker.controller);
      if (!isKept && phase !== 'unsupported') return;
      kept.events.removeEventListener('changed', look);
      serviceWorker?.removeEventListener('controllerchange', look);
      void this.#ahead(isKept);
    };
    kept.events.addEventListener('changed', look);
    serviceWorker?.addEventListener('controllerchange', look);
    look();
  }

  /**
   * Where what is kept is of another release than this page, nothing is asked for ahead.
   * @param {boolean} isKept
   */
  async #ahead(isKept) {
    const { second: address = '' } = named();
    if (!isKept || (await caches.match(address).catch(() => undefined)))
      await this.load().catch(() => undefined); // said where it is asked for
  }

  /** @returns {Promise<Second>} rejects with a PartError; the next call tries again */
  load() {
    this.#coming ??= secondPart().catch((error) => {
      this.#coming = undefined;
      throw error;
    });
    return this.#coming;
  }
}

/** What the page says of its scripts. @returns {DOMStringMap} */
function named() {
  return /** @type {HTMLElement} */ (document.getElementById('script')).dataset;
}

/** @returns {Promise<Second>} */
async function secondPart() {
  const { second: address = '', integrity = '' } = named();
  const here = (await run(address, integrity)) ?? (await again(address, integrity));
  if (here) return here;
  throw new PartError('damaged');
}

/**
 * What the browser itself keeps may be damaged: the file is asked for anew before the script is tried once
 * more.
 * @param {string} address
 * @param {string} integrity
 */
async function again(address, integrity) {
  const answer = await fetch(address, {
    cache: 'reload',
    signal: AbortSignal.timeout(FOUND_WITHIN_MS)
  }).catch(() => undefined);
  if (!answer) throw new PartError('no_signal');
  if (!answer.ok) throw new PartError(answer.status === 404 ? 'new_release' : 'server');
  const whole = await answer.arrayBuffer().catch(() => undefined); // until it is there
  return whole ? run(address, integrity) : undefined;
}

/**
 * Run the script. The browser refuses one that is not as the page says.
 * @param {string} address
 * @param {string} integrity
 * @returns {Promise<Second | undefined>} undefined where it did not come, or not as it should be
 */
async function run(address, integrity) {
  const script = document.createElement('script');
  const done = new Promise((resolve) => {
    script.onload = script.onerror = resolve;
    setTimeout(resolve, PATIENCE_MS);
  });
  Object.assign(script, { integrity, src: trustedScript(address) });
  document.head.append(script);
  await done;
  script.remove();
  return /** @type {{fallbook: {module: (path: string) => Second | undefined}}} */ (
    /** @type {unknown} */ (globalThis)
  ).fallbook.module('second.js');
}
