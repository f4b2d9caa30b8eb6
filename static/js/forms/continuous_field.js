/** Start and finish of what goes on along the pipe. The number pairs them; nobody has to remember it. */
import { h, refill } from '../ui/elements.js';
import { segments } from './field_frame.js';
import { continuousItems, nextNumber } from '../survey/continuous.js';
import { metres } from '../ui/format.js';
import { t } from '../text/en.js';

/** @param {any[]} observations of the run @param {string} ownId @param {() => void} changed */
export function continuousField(observations, ownId, changed) {
  const others = observations.filter((one) => one.id !== ownId);
  const starts = new Set(continuousItems(others, null).items.filter((one) => one.open).map((one) => one.start_id));
  const open = others.filter((one) => starts.has(one.id));
  const free = nextNumber(others);
  /** @type {any} */
  let value = null;
  let code = '';
  const rows = segments(t('continuous.label'), [
    { value: '', label: t('continuous.here_only') }, { value: 'start', label: t('continuous.start_key') }, { value: 'finish', label: t('continuous.finish_key') },
  ], choose);
  const more = h('div', { class: 'code-list' });
  const element = h('fieldset', { class: 'field' }, h('legend', null, t('continuous.label')), rows.element, more);

  /** @param {string} role */
  function choose(role) {
    if (role === '') value = null;
    else if (role === 'start') value = { role, number: value?.role === 'start' ? value.number : free };
    else {
      const mine = candidates();
      value = { role, number: (mine[0] ?? open[0])?.fields.continuous.number ?? free };
    }
    show();
    changed();
  }
  const candidates = () => open.filter((one) => one.fields.code === code);

  function show() {
    rows.show(value?.role ?? '');
    refill(more, value === null ? null : h('p', { class: 'field-help', role: 'status' }, words()), ...(value?.role === 'finish' ? picks() : []));
  }
  function words() {
    if (value.role !== 'finish') return t('continuous.start', { n: value.number });
    const of = candidates().find((one) => one.fields.continuous.number === value.number);
    return of ? t('continuous.finish_of', { n: value.number, code, m: metres(of.fields.counter_m) }) : t('continuous.finish_none', { n: value.number, code });
  }
  /** @returns {HTMLElement[]} */
  function picks() {
    const mine = candidates();
    if (mine.length < 2) return [];
    return mine.map((one) => h('button', {
      type: 'button', class: 'code-row', 'aria-pressed': String(one.fields.continuous.number === value.number),
      onclick: () => { value = { role: 'finish', number: one.fields.continuous.number }; show(); changed(); },
    }, h('span', { class: 'code-letters' }, `${one.fields.continuous.number}`), h('span', null, t('continuous.since', { m: metres(one.fields.counter_m) }))));
  }
  show();
  return {
    element,
    get: () => value,
    /** @param {any} wanted */
    set(wanted) { value = wanted ?? null; show(); },
    /** @param {string} wanted */
    setCode(wanted) { code = wanted; show(); },
  };
}
