/** The nodes of a job. */
import { fixedText } from '../../text/survey_words.js';
import { h } from '../../ui/elements.js';
import { button, linkRow } from '../../ui/page.js';
import { live } from '../../ui/live.js';
import { apart, metres } from '../../ui/format.js';
import { radius95M } from '../../survey/plan/position_accuracy.js';
import { jobTitle, jobView } from '../../ui/record_guard.js';
import { valueWords } from '../parts/describe.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').App} App */
/** @typedef {import('../../ui/types.js').JobParams} JobParams */
/** @typedef {import('../../ui/types.js').JobView} JobView */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */

/** @param {import('../../ui/page.js').Page} page @param {JobParams} params @param {App} app */
export async function mount(page, params, app) {
  const at = `/jobs/${params.job}`;
  return live(app, params.job, async () => {
    const view = await jobView(app, params.job);
    const nodes = view.records('node');
    page.head({ title: t('nodes.title'), eyebrow: jobTitle(view), back: at });
    page.bar(button(t('node.add'), { tone: 'main-act action', icon: 'add', href: `${at}/nodes/new` }));
    page.body(
      nodes.length
        ? h('div', { class: 'rows' }, ...nodes.map((node) => nodeRow(app, view, node, at)))
        : h('p', { class: 'soft' }, t('nodes.none_more'))
    );
  });
}

/** @param {NodeRecord} node */
function placeWords({ fields: { position }, unusable }) {
  if (unusable?.includes('position')) return t('node.place_not_whole');
  if (!position) return t('node.place_unknown');
  const radius = radius95M(position);
  return radius === null ? t('node.place_no_radius') : t('node.place_known', { m: fixedText(radius, 0) });
}

/** @param {App} app @param {JobView} view @param {NodeRecord} node @param {string} at */
function nodeRow(app, view, node, at) {
  const f = node.fields;
  const facts = [
    f.node_type ? valueWords(app, view, 'node', 'node_type', f.node_type) : t('node.type_unknown'),
    placeWords(node)
  ];
  if (typeof f.cover_level_m === 'number' && typeof f.dipped_depth_m === 'number') {
    facts.push(t('node.invert', { m: metres(f.cover_level_m - f.dipped_depth_m, 3) }));
  }
  return linkRow(`${at}/nodes/${node.id}`, 'node', f.node_ref ?? '?', apart(facts));
}
