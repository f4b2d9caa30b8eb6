/** The office pages: take in a job, make a pack and watch it grow. */
import { listens, post, request, sentence } from './office_request.js';
import { t } from './office_words.js';

const ASK_EVERY_MS = 400;

/** @template {Element} T @param {string} id @param {new () => T} type @returns {T | null} */
function find(id, type) {
  const found = document.getElementById(id);
  return found instanceof type ? found : null;
}

/** @param {HTMLElement | null} place @param {string} text @param {boolean} [fault] */
function say(place, text, fault = false) {
  if (!place) return;
  place.classList.toggle('is-fault', fault);
  place.textContent = text;
}

/** @param {HTMLFormElement} form */
function takeForm(form) {
  const status = find('take-status', HTMLElement);
  const input = find('take-file', HTMLInputElement);
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    const file = input?.files?.[0];
    if (!file) return;
    const type = file.name.toLowerCase().endsWith('.json') ? 'application/json' : 'application/zip';
    say(status, t('office.script.taking'));
    try {
      const done = await request('/api/import', {
        method: 'POST',
        headers: { 'Content-Type': type },
        body: file
      });
      say(
        status,
        t('office.script.taken', {
          entries: t('office.script.entries', { n: done.kept }),
          again: done.kept_already,
          photos: t('office.script.photos', { n: done.photos })
        })
      );
      if (done.report) {
        // An exchange file: what found no place must be read before the page goes on.
        say(status, done.report.join('\n'));
        return;
      }
      location.assign(done.job_id ? `/office/jobs/${done.job_id}` : '/office');
    } catch (error) {
      say(status, sentence(error), true);
    }
  });
  listens(form);
}

/** @param {HTMLElement} card */
function packCard(card) {
  const button = find('pack-make', HTMLButtonElement);
  const progress = find('pack-progress', HTMLElement);
  const bar = find('pack-bar', HTMLProgressElement);
  const step = find('pack-step', HTMLElement);
  const status = find('pack-status', HTMLElement);
  const ready = find('pack-ready', HTMLElement);
  const link = find('pack-link', HTMLAnchorElement);
  if (!button || !progress || !bar || !step || !ready || !link) return;

  /** @param {{total: number, done: number, step: string}} pack */
  const show = (pack) => {
    bar.max = Math.max(pack.total, 1);
    bar.value = pack.done;
    step.textContent = pack.step;
  };

  button.addEventListener('click', async () => {
    button.disabled = true;
    ready.hidden = true;
    progress.hidden = false;
    say(status, '');
    try {
      let pack = await post(`/api/jobs/${card.dataset.job}/packs`, {});
      while (pack.state === 'waiting' || pack.state === 'making') {
        show(pack);
        await new Promise((done) => setTimeout(done, ASK_EVERY_MS));
        pack = await request(`/api/packs/${pack.pack_id}`);
      }
      if (pack.state !== 'done') throw new Error(pack.message);
      link.href = `/api/packs/${pack.pack_id}/file`;
      ready.hidden = false;
      say(status, t('office.script.ready'));
      link.focus();
    } catch (error) {
      say(status, sentence(error), true);
    } finally {
      progress.hidden = true;
      button.disabled = false;
    }
  });
  listens(button);
}

const form = find('take-form', HTMLFormElement);
if (form) takeForm(form);
const card = document.querySelector('.pack-card');
if (card instanceof HTMLElement) packCard(card);
