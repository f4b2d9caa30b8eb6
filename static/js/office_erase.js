/** The office page on which something of a job is erased: first what would go, then the act. */
import { listens, post, sentence } from './office_request.js';
import { t } from './office_words.js';

/**
 * What would go, as the server found it.
 * @typedef {{entries: number, named: string[], records: Object<string, number>, photos: string[], runs:
 *   string[], pointing: number, photos_elsewhere: string[]}} Found
 */

/** @param {Found} found @returns {string[]} what would go, a sentence a line */
function linesOf(found) {
  const lines = [
    t('office.script.erase_goes', {
      entries: t('office.script.entries', { n: found.entries }),
      photos: t('office.script.photos', { n: found.photos.length })
    })
  ];
  const more = Object.values(found.records).reduce((sum, n) => sum + n, 0) - found.named.length;
  lines.push(...found.named);
  if (more > 0) lines.push(t('office.script.erase_more', { n: more }));
  for (const run of found.runs) lines.push(t('office.script.erase_run', { run }));
  if (found.pointing) lines.push(t('office.script.erase_pointing', { n: found.pointing }));
  if (found.photos_elsewhere.length)
    lines.push(t('office.script.erase_elsewhere', { n: found.photos_elsewhere.length }));
  return lines;
}

/** @param {HTMLFormElement} form @returns {{what: string, target: string, reason: string, days: number}} */
function wantedOf(form) {
  const value = new FormData(form);
  const [what, ...rest] = String(value.get('target')).split(':');
  const target = what === 'entry' ? String(value.get('entry')).trim() : rest.join(':');
  return { what, target, reason: String(value.get('reason')), days: Number(value.get('days')) };
}

/** @param {HTMLFormElement} form */
function eraseForm(form) {
  const status = form.querySelector('[role=status]');
  const act = document.getElementById('erase-now');
  const url = `/api/jobs/${form.dataset.job}/erasures`;
  /** @param {unknown} error */
  const say = (error) => status?.replaceChildren(sentence(error));
  form.addEventListener('input', () => act?.setAttribute('hidden', ''));
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    try {
      const { what, target, days } = wantedOf(form);
      const lines = linesOf(/** @type {Found} */ (await post(`${url}/preview`, { what, target })));
      if (days === 0) lines.push(t('office.script.erase_for_good'));
      status?.replaceChildren(
        ...lines.map((line) => Object.assign(document.createElement('p'), { textContent: line }))
      );
      act?.removeAttribute('hidden');
    } catch (error) {
      say(error);
    }
  });
  act?.addEventListener('click', async () => {
    act.setAttribute('disabled', '');
    try {
      await post(url, wantedOf(form));
      location.assign('/office/erasures');
    } catch (error) {
      act.removeAttribute('disabled');
      say(error);
    }
  });
  listens(form);
}

const form = document.getElementById('erase-form');
if (form instanceof HTMLFormElement) eraseForm(form);
