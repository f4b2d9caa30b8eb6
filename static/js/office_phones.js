/** The office pages that let phones and clients in, and the page on which a client opens a link. */
import { listens, post, Refused, sentence } from './office_request.js';
import { t } from './office_words.js';

/** @param {HTMLFormElement} form */
function makeForm(form) {
  const status = form.querySelector('[role=status]');
  const picture = form.querySelector('img');
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    /** @type {Object<string, FormDataEntryValue | number>} */
    const value = Object.fromEntries(new FormData(form));
    if (value.days) value.days = Number(value.days);
    try {
      const made = await post(form.dataset.make ?? '', value);
      const link = document.createElement('input');
      Object.assign(link, { readOnly: true, value: made.link, className: 'made-link' });
      link.setAttribute('aria-label', t('office.script.link'));
      link.addEventListener('focus', () => link.select());
      status?.replaceChildren(t('office.script.made'), link);
      if (picture && made.qr) {
        picture.src = made.qr;
        picture.hidden = false;
      }
    } catch (error) {
      status?.replaceChildren(sentence(error));
    }
  });
  listens(form);
}

/** A press that changes something: the second press means it, where there is something to think about.
 * @param {HTMLButtonElement} button */
function postButton(button) {
  const status = button.parentElement?.querySelector('[role=status]');
  const { post: url = '', ask } = button.dataset;
  let confirmed = !ask;
  button.addEventListener('click', async () => {
    if (!confirmed) {
      confirmed = true;
      status?.replaceChildren(t('office.script.ask', { question: ask ?? '' }));
      return;
    }
    button.disabled = true;
    try {
      await post(url, {});
      location.reload();
    } catch (error) {
      button.disabled = false;
      status?.replaceChildren(sentence(error));
    }
  });
  listens(button);
}

/** The secret stands behind the #: no server and no log sees it, and it goes from the address at once.
 * @param {HTMLElement} status */
async function openLink(status) {
  const secret = location.hash.slice(1);
  history.replaceState(null, '', location.pathname);
  if (!secret) {
    status.textContent = t('office.script.link_cut');
    return;
  }
  /** @param {boolean} instead */
  const open = async (instead) => {
    try {
      const { job_id: jobId } = await post('/api/client-links/open', { secret, instead });
      location.replace(`/office/jobs/${jobId}`);
    } catch (error) {
      status.textContent = sentence(error);
      // A browser that is let in already is asked: to stay what it is, or to read as the client does.
      const asked = document.getElementById('open-asked');
      if (asked) asked.hidden = !(error instanceof Refused && error.code === 'link_lowers');
    }
  };
  document.getElementById('open-instead')?.addEventListener('click', () => void open(true));
  await open(false);
}

for (const form of document.querySelectorAll('form[data-make]'))
  if (form instanceof HTMLFormElement) makeForm(form);
for (const button of document.querySelectorAll('button[data-post]'))
  if (button instanceof HTMLButtonElement) postButton(button);
const status = document.getElementById('open-status');
if (status) void openLink(status);
