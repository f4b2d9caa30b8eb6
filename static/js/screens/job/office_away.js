/** The office with no network. The worker answers with the app for a page that only the server has. */
import { h } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { t } from '../../text/words.js';

/** @param {import('../../ui/page.js').Page} page */
export async function mount(page) {
  page.head({ title: t('office_away.title'), back: '/' });
  page.body(
    h('p', null, t('office_away.away')),
    h('p', null, t('office_away.here')),
    button(t('failure.again'), { tone: 'wide', onclick: () => location.reload() }),
    button(t('page.to_jobs'), { href: '/', tone: 'wide' })
  );
}
