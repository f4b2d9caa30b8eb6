/**
 * The handbook: how the job is done, what to mind, what the words mean. Its sentences are a file of their
 * own.
 */
import { h } from '../../ui/elements.js';
import { note, section } from '../../ui/page.js';
import { t, takeWords, words } from '../../text/words.js';

/** @param {import('../../ui/page.js').Page} page @param {import('../../ui/types.js').Params} _params */
export async function mount(page, _params) {
  page.head({ title: t('settings.handbook'), eyebrow: t('app.name'), back: '/settings' });
  try {
    const answer = await fetch('/handbook.json');
    takeWords(await answer.json());
  } catch {
    page.body(note('plain', h('p', null, t('settings.handbook_away'))));
    return;
  }
  /** @type {Map<string, string[]>} */
  const chapters = new Map();
  for (const key of Object.keys(words).sort()) {
    const [book, chapter, name] = key.split('.');
    if (book !== 'handbook') continue;
    const names = chapters.get(chapter) ?? [];
    if (name !== 'title') names.push(name);
    chapters.set(chapter, names);
  }
  const text = (/** @type {string} */ chapter, /** @type {string} */ name) =>
    t(/** @type {import('../../ui/types.js').MessageKey} */ (`handbook.${chapter}.${name}`));
  page.body(
    ...[...chapters].map(([chapter, names]) =>
      section(text(chapter, 'title'), ...names.map((name) => h('p', null, text(chapter, name))))
    )
  );
}
