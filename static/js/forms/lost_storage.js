/**
 * The phone's database was deleted under the app: what is in memory is offered as a file. Or it was lost
 * since the app was last open: what that means is said until a person has read it.
 */
import { h } from '../ui/elements.js';
import { button } from '../ui/page.js';
import { errorWords } from '../ui/error_words.js';
import { when } from '../ui/format.js';
import { download, handOver } from '../files/handover_out.js';
import { t } from '../text/words.js';

/** @typedef {import('../ui/types.js').App} App */
/** @typedef {import('../ui/types.js').JobView} JobView */

/** @typedef {import('../store/last_save.js').Lost} Lost */

/** @param {App} app */
export function watchStorage(app) {
  if (app.store.lost) document.body.prepend(lostBefore(app, app.store.lost));
  app.store.events.addEventListener('lost', () => document.body.prepend(card(app)), { once: true });
}

/** @param {App} app */
function card(app) {
  const status = h('p', { role: 'status' });
  const save = async (/** @type {JobView} */ view) => {
    try {
      const { file } = await handOver(inMemory(app, view), view.jobId);
      download(file, file.name);
      status.textContent = t('failure.file_made', { name: file.name });
    } catch (error) {
      status.textContent = t('failure.file_failed', { why: errorWords(error) });
    }
  };
  const key = (/** @type {JobView} */ view) =>
    button(
      t('lost.save', {
        title: view.job?.fields.title || t('jobs.untitled'),
        n: view.entriesBeyond({}).length
      }),
      { icon: 'download', tone: 'wide', onclick: () => void save(view) }
    );
  return h(
    'section',
    { class: 'card stack-s', role: 'alert' },
    h('h2', null, t('lost.title')),
    h('p', null, t('lost.why')),
    ...app.store.inMemory().map(key),
    status,
    button(t('lost.again'), {
      onclick: () => {
        app.store.lossRead();
        location.assign('/');
      }
    })
  );
}

/** @param {App} app @param {Lost} lost */
function lostBefore(app, lost) {
  const element = h(
    'section',
    { class: 'card stack-s', role: 'alert' },
    h('h2', null, t(lost.part === 'all' ? 'lost.before_title' : 'lost.newest_title')),
    h('p', null, lost.at ? t('lost.before_why', { when: when(lost.at) }) : t('lost.before_undated')),
    h('p', null, whatToDo(lost)),
    button(t('lost.read'), {
      onclick: () => {
        app.store.lossRead();
        element.remove();
      }
    })
  );
  return element;
}

/** @param {Lost} lost */
function whatToDo({ unsent }) {
  if (unsent === null) return t('lost.not_counted');
  return unsent > 0 ? t('lost.unsent', { n: unsent }) : t('lost.all_sent');
}

/** The app with nothing on the disk. @param {App} app @param {JobView} view @returns {App} */
function inMemory(app, view) {
  const store = Object.create(app.store);
  store.job = async () => view;
  store.photo = async () => undefined;
  return { ...app, store };
}
