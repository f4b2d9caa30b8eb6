/** A phone takes its invitation: says what it is for, takes a name, and gets a credential of its own. */
import { h, refill } from '../../ui/elements.js';
import { button, note } from '../../ui/page.js';
import { when } from '../../ui/format.js';
import { textControl } from '../../forms/fields/fields_plain.js';
import { once } from '../../forms/failure.js';
import { t } from '../../text/words.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').Params} Params */

/** @typedef {import('../../ui/types.js').MessageKey} MessageKey */
/** @typedef {{name: string, role: string, job_id: string | null, expires_at: string}} Invitation */

const SECRET = 'phone_secret';
const CODE = /^[A-Za-z0-9_-]{43}$/;

/** @param {string} path @param {object} value @returns {Promise<any>} not checked here */
async function post(path, value) {
  const init = {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(value)
  };
  const answer = await fetch(path, init).catch(() => {
    throw new Error(t('join.offline'));
  });
  const body = await answer.json().catch(() => undefined);
  const first = body?.errors?.[0];
  if (body?.ok !== true)
    throw Object.assign(new Error(first?.message ?? t('join.offline')), { code: first?.code });
  return body;
}

/** The secret of this phone: kept before it is sent, so that what is asked again comes from the same phone.
 * @param {App} app @returns {Promise<string>} */
async function phoneSecret(app) {
  /** @type {string | undefined} */
  const kept = await app.store.setting(SECRET);
  if (kept) return kept;
  const text = btoa(String.fromCharCode(...crypto.getRandomValues(new Uint8Array(32))));
  const secret = text.slice(0, 43).replaceAll('+', '-').replaceAll('/', '_');
  await app.store.setSetting(SECRET, secret);
  return secret;
}

/** @param {import('../../ui/page.js').Page} page @param {Params} _params @param {App} app */
export async function mount(page, _params, app) {
  const place = h('div', { class: 'stack' });
  page.head({ title: t('join.title'), eyebrow: t('app.name'), back: '/settings' });
  page.body(h('p', { class: 'soft' }, t('join.server', { host: location.host })), place);
  // The code stands behind the #, which no server and no log sees; it goes from the address at once.
  const code = location.hash.slice(1);
  if (code) history.replaceState(history.state, '', location.pathname);
  if (CODE.test(code)) await look(code);
  else askForLink();

  function askForLink() {
    const link = textControl({ name: 'link', label: t('join.link'), type: 'text', longest: 400 }, () => {});
    const status = h('p', { role: 'status' });
    const take = () => {
      const found = linkOf(String(link.read().value ?? ''));
      if (typeof found === 'string') status.textContent = found;
      else void look(found.code);
    };
    const ios = app.install.isIos && !app.install.standalone ? note('notice', t('join.ios')) : null;
    refill(
      place,
      ios,
      h('p', null, t('join.no_code')),
      link.element,
      button(t('join.take'), { tone: 'main-act action wide', onclick: take }),
      status
    );
  }

  /** @param {string} code */
  async function look(code) {
    refill(place, h('p', { role: 'status' }, t('join.looking')));
    try {
      offer(code, await post('/api/join/look', { code }));
    } catch (error) {
      const words = errorWords(error);
      refill(
        place,
        note('notice', h('p', null, words)),
        button(t('join.again'), { tone: 'wide', onclick: () => void look(code) })
      );
      app.announce(words);
    }
  }

  /** @param {string} code @param {Invitation} invitation */
  function offer(code, invitation) {
    const status = h('p', { role: 'status' });
    const name = textControl(
      { name: 'name', label: t('join.name'), type: 'text', longest: 80, help: t('join.name_help') },
      () => {}
    );
    name.setValue(invitation.name);
    const limited = invitation.job_id ? '_job' : '';
    const what = t(/** @type {MessageKey} */ (`join.${invitation.role}${limited}`));
    const ios = app.install.isIos && !app.install.standalone ? note('notice', t('join.ios')) : null;
    /** @param {boolean} instead of what this browser may do now, though that is more */
    const join = async (instead) => {
      const value = String(name.read().value ?? '').trim();
      if (!value) {
        status.textContent = t('join.name_needed');
        return;
      }
      try {
        const secret = await phoneSecret(app);
        const device = await post('/api/join', { code, name: value, secret, instead });
        done(device.name, device.role);
      } catch (error) {
        status.textContent = errorWords(error);
        if (/** @type {{code?: string}} */ (error).code === 'join_lowers')
          status.append(
            button(t('join.stay'), { tone: 'wide', href: '/' }),
            button(t('join.instead'), { tone: 'wide', onclick: () => void join(true) })
          );
      }
    };
    const connect = once(() => join(false));
    refill(
      place,
      ios,
      h('p', null, h('strong', null, what)),
      h('p', { class: 'soft' }, t('join.until', { when: when(invitation.expires_at) })),
      name.element,
      button(t('join.do'), { tone: 'main-act action wide', onclick: () => void connect() }),
      status
    );
  }

  /** @param {string} name @param {string} role */
  function done(name, role) {
    const office = role === 'office'; // it works at a desk from now on
    refill(
      place,
      h('p', { role: 'status' }, h('strong', null, t('join.done', { name }))),
      h('p', null, t(/** @type {MessageKey} */ (`join.done_${role}`))),
      button(t(office ? 'join.to_office' : 'join.on'), {
        tone: 'main-act action wide',
        href: office ? '/office' : '/'
      })
    );
    app.announce(t('join.done', { name }));
    void app.sync.run({ by: 'button' });
  }
}

/** The code in a link that somebody put in, or the sentence that says what is wrong with it.
 * @param {string} text @returns {{code: string} | string} */
function linkOf(text) {
  try {
    const link = new URL(text.trim());
    const code = link.hash.slice(1);
    if (link.pathname !== '/join' || !CODE.test(code)) return t('join.link_bad');
    return link.origin === location.origin
      ? { code }
      : t('join.link_elsewhere', { there: link.host, here: location.host });
  } catch {
    return t('join.link_bad');
  }
}
