/** Who this phone is to the server: asked for, and remembered for when there is no signal. */
import { h } from '../../ui/elements.js';
import { button, note, section } from '../../ui/page.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/**
 * @typedef {{access: string, role: string, name: string, device_id: string | null, jobs: string[] | null,
 *   refused: string | null, message: string}} Me
 */

const SETTING = 'server_access';

/** @returns {Promise<Me | null>} null when the server was not reached */
async function ask() {
  try {
    const answer = await fetch('/api/me', { cache: 'no-store' });
    const body = answer.ok ? await answer.json() : null;
    return body?.ok === true ? body : null;
  } catch {
    return null;
  }
}

/** @param {Me} me @returns {string} */
function words(me) {
  if (me.refused) return me.message;
  if (!me.device_id && me.role === 'office')
    return t(me.access === 'on' ? 'access.local' : 'access.this_machine_only');
  if (me.role === 'client') return t('access.client');
  return t(
    /** @type {import('../../ui/types.js').MessageKey} */ (`access.${me.role}${me.jobs ? '_job' : ''}`),
    { name: me.name }
  );
}

/**
 * The part of the settings that tells of the server.
 * @param {App} app
 * @returns {{element: HTMLElement, draw: () => Promise<void>}}
 */
export function accessSection(app) {
  const status = h(
    'div',
    { class: 'stack-s', role: 'status' },
    h('p', { class: 'soft' }, t('access.asking'))
  );
  const draw = async () => {
    const me = await ask();
    if (me) await app.store.setSetting(SETTING, words(me));
    /** @type {string | undefined} */
    const known = await app.store.setting(SETTING);
    const line = known ? t('access.unreached', { what: known }) : t('access.unreached_never');
    const invites = me?.access === 'on' && (me.refused || me.device_id || me.role === 'client');
    status.replaceChildren(
      me?.refused
        ? note('notice', h('p', null, words(me)), h('p', null, t('access.kept')))
        : h('p', null, me ? words(me) : line),
      ...(invites
        ? [
            button(t(me.device_id && !me.refused ? 'access.connect_again' : 'access.connect'), {
              href: '/join',
              tone: 'wide'
            })
          ]
        : [])
    );
  };
  const host = h('p', { class: 'soft' }, t('access.host', { host: location.host }));
  return { element: section(t('access.title'), host, status), draw };
}
