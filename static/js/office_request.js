/** What the office pages' scripts ask of the server, and what they say where it refuses. */
import { t } from './office_words.js';

export class Refused extends Error {
  /** @param {string} code @param {string} message */
  constructor(code, message) {
    super(message);
    this.code = code;
  }
}

/** @param {string} url @param {RequestInit} [init] @returns {Promise<any>} the answer, which says that all is well */
export async function request(url, init) {
  const answer = await fetch(url, init).catch(() => {
    throw new Error(t('office.script.unreached'));
  });
  const body = await answer.json().catch(() => undefined);
  if (!body) throw new Error(t('office.script.status', { status: answer.status }));
  const first = body.errors?.[0];
  if (first) throw new Refused(first.code, first.message);
  if (body.ok !== true) throw new Error(t('office.script.refused'));
  return body;
}

/** @param {string} url @param {object} value @returns {Promise<any>} */
export function post(url, value) {
  return request(url, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(value)
  });
}

/**
 * The server sends buttons switched off: one that is pressed before its script listens would do nothing, or
 * send what was typed in the address.
 * @param {HTMLFormElement | HTMLButtonElement} what listens now: a button, or the form that it submits
 */
export function listens(what) {
  const button = what instanceof HTMLButtonElement ? what : what.querySelector('button[type=submit]');
  button?.removeAttribute('disabled');
}

/** @param {unknown} error @returns {string} */
export function sentence(error) {
  return error instanceof Error ? error.message : String(error);
}
