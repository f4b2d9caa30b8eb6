/** Cards that come and go on the first screen: put it on the home screen, a new version waits. */
import { h } from './elements.js';
import { button } from './page.js';
import { t } from '../text/words.js';

/** @typedef {import('./types.js').App} App */

/** @param {App} app @param {() => Promise<void>} redraw */
export function updateCard(app, redraw) {
  if (!app.update?.available) return null;
  return h(
    'section',
    { class: 'card' },
    h('h2', null, t('update.title')),
    h('p', null, t('update.why')),
    h(
      'div',
      { class: 'keys' },
      button(t('update.use'), { tone: 'main-act', onclick: () => app.update.useItNow() }),
      button(t('update.later'), {
        onclick: () => {
          app.update.later();
          void redraw();
        }
      })
    )
  );
}

/**
 * Only once the app is on the phone, whole: on the home screen of one that cannot open it, it would be a
 * trap.
 * @param {App} app
 * @param {() => Promise<void>} redraw
 */
export async function firstRunCard(app, redraw) {
  if (app.kept.state.phase !== 'ready') return null;
  if (!app.install || app.install.standalone || (await app.store.setting('install_dismissed'))) return null;
  const dismiss = async () => {
    await app.store.setSetting('install_dismissed', true);
    await redraw();
  };
  const how = app.install.canPrompt
    ? null
    : h('p', null, t(app.install.isIos ? 'install.ios' : 'install.menu'));
  return h(
    'section',
    { class: 'card' },
    h('h2', null, t('install.title')),
    h('p', null, t('install.why')),
    how,
    h(
      'div',
      { class: 'keys' },
      app.install.canPrompt
        ? button(t('install.do'), { tone: 'main-act', onclick: () => void app.install.prompt() })
        : null,
      button(t('install.later'), { tone: app.install.canPrompt ? '' : 'full', onclick: () => void dismiss() })
    )
  );
}
