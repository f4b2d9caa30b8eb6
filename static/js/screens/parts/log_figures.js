/** The figures at the head of a run's log: the last length, the fall so far, the levels, what they say. */
import { h } from '../../ui/elements.js';
import { icon } from '../../ui/icons.js';
import { button, note, section } from '../../ui/page.js';
import { levelSketch } from '../../ui/level_sketch.js';
import { assumedTools, checkedTools, fallText, knownOf, levelLines, wholeFall } from './figure_words.js';
import {
  codeReason,
  degreesText,
  fixedText,
  knownWord,
  oneInText,
  percentText,
  placeText,
  verdictText
} from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { keepUnits, listed, listedNodes, metres } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */

/** The two windows: the gradient of the last length, the fall since the start. @param {Figures} figures */
export function gauges(figures) {
  const last = figures.last_length;
  const whole = wholeFall(figures);
  if (!last || !whole)
    return h(
      'p',
      { class: 'soft' },
      figures.refused.profile ? codeReason(figures.refused.profile) : t('fig.no_readings')
    );
  const under =
    last.deg === null
      ? knownWord(last.known)
      : t('value.how', {
          value: listed([
            percentText(last.deg),
            t('fig.deg_sd', { deg: degreesText(last.deg), sd: fixedText(last.sd_deg ?? 0, 2) })
          ]),
          how: knownWord(last.known)
        });
  return h(
    'dl',
    { class: 'dials one-column' },
    gauge(
      t('fig.last_length', { from: placeText(last.from_m), to: placeText(last.to_m) }),
      last.deg === null ? fallText(last) : oneInText(last.deg),
      under,
      'gradient'
    ),
    gauge(t('fig.since_start', { m: metres(whole.last) }), ...withSpread(whole), 'fall')
  );
}

/** The figure itself, and its spread and how it is known to stand under it.
 * @param {{figure: string, spread: string, known: string}} found @returns {[string, string]} */
export function withSpread({ figure, spread, known }) {
  return [figure, spread ? t('value.sd_how', { sd: spread, how: knownOf(known) }) : knownOf(known)];
}

/** @param {string} label @param {string} value @param {string} how @param {string} name */
export function gauge(label, value, how, name) {
  return h(
    'div',
    { class: 'gauge', 'data-figure': name },
    h('dt', null, label),
    h('dd', null, keepUnits(value), h('span', { class: 'how' }, keepUnits(how)))
  );
}

/** @param {Figures} figures @param {string} at @param {string} jobId */
export function levelsSection(figures, at, jobId) {
  const drawing = sketchOf(figures);
  if (!drawing) return null;
  const ties = figures.model?.ties ?? [];
  const lastTie = Math.max(...ties.map((one) => one.chainage_m));
  const lines = levelLines(figures).filter(
    (one) =>
      one.tone === 'notice' ||
      !one.key.startsWith('tie ') ||
      ties[Number(one.key.slice(4))].chainage_m === lastTie
  );
  return section(
    t('sketch.title'),
    drawing,
    h('p', { class: 'field-help' }, t(ties.length ? 'sketch.legend_tied' : 'sketch.legend_start')),
    lineList(lines),
    toolsLine(figures, jobId, false), // the verdict stands over the rows of the log
    h(
      'nav',
      { class: 'figure-keys', 'aria-label': t('fig.screens') },
      button(t('fig.falls'), { tone: 'stacked', icon: 'down', href: `${at}/falls` }),
      button(t('fig.trace'), { tone: 'stacked', icon: 'walk', href: `${at}/trace` }),
      button(t('fig.capacity'), { tone: 'stacked', icon: 'water', href: `${at}/capacity` })
    )
  );
}

/** @param {Figures} figures */
export function sketchOf(figures) {
  const { profile, model, water, records } = figures;
  const whole = wholeFall(figures);
  if (!profile || !model || !whole) return null;
  return levelSketch(profile, {
    observations: records.observations
      .map((one) => figures.placeOf(one.fields.counter_m ?? NaN))
      .filter(Number.isFinite),
    senses: figures.senses,
    ties: model.ties,
    sags: water?.sags ?? [],
    flow: figures.run.direction ?? 'unknown',
    absolute: model.ties.length > 0,
    alt: t('sketch.alt', {
      m: metres(whole.last),
      fall: t('value.how', { value: whole.words, how: knownOf(whole.known) })
    })
  });
}

/** @param {import('./figure_words.js').Line[]} lines */
export function lineList(lines) {
  if (lines.length === 0) return null;
  return h(
    'ul',
    { class: 'figure-lines' },
    ...lines.map((one) =>
      h(
        'li',
        { class: `figure-line ${one.tone}`, 'data-figure': one.key.split(' ')[0] },
        icon(one.icon),
        h('span', null, keepUnits(one.words))
      )
    )
  );
}

/** What the checks came to, and what is assumed, each with the check that would replace it.
 * @param {Figures} figures @param {string} jobId @param {boolean} [withVerdict] */
export function toolsLine(figures, jobId, withVerdict = true) {
  const assumed = assumedTools(figures);
  const verdict = withVerdict ? verdictText(figures.instruments) : '';
  const verdictLine = verdict
    ? h('p', { class: 'verdict', 'data-figure': 'verdict' }, keepUnits(verdict))
    : null;
  if (assumed.length === 0)
    return h(
      'div',
      { class: 'stack-s' },
      verdictLine,
      h('p', { class: 'field-help' }, checkedTools(figures))
    );
  const links = listedNodes(
    assumed.map((one, i) =>
      h('a', { href: `/jobs/${jobId}/checks/new?type=${one.check}`, 'data-key': one.check + i }, one.words)
    )
  );
  return h(
    'div',
    { class: 'stack-s' },
    verdictLine,
    h('p', { class: 'field-help tools-line' }, t('instruments.title'), ' ', ...links, '.')
  );
}

/** Said beside every number that an engineer might use. @param {string} words */
export function indication(words) {
  return note('plain', h('p', { class: 'indication' }, words));
}
