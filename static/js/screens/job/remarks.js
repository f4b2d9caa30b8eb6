/** Every remark of a job, those at a distance included. */
import { h } from '../../ui/elements.js';
import { button, linkRow } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { listed, metres } from '../../ui/format.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { recordPath } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const remarks = view.records('remark');
    page.head({ title: t('remarks.title'), eyebrow: jobTitle(view), back: at });
    page.bar(button(t('remark.add'), { tone: 'main-act action', icon: 'add', href: `${at}/remarks/new` }));
    page.body(
      remarks.length
        ? h(
            'div',
            { class: 'rows' },
            ...remarks.map((one) =>
              linkRow(
                recordPath(params.job, 'remark', one),
                'remark',
                one.fields.text ?? '',
                where(view, one)
              )
            )
          )
        : h('p', { class: 'soft' }, t('remarks.none'))
    );
  });
}

/** @param {JobView} view @param {import('../../records/types.js').RemarkRecord} remark @returns {string} */
function where(view, remark) {
  const run = remark.fields.run_id ? view.record('run', remark.fields.run_id)?.fields.run_ref : null;
  if (!run) return t('remark.on_job');
  const place = typeof remark.fields.counter_m === 'number' ? metres(remark.fields.counter_m) : '';
  return listed([t('value.in_run', { run }), place]);
}
