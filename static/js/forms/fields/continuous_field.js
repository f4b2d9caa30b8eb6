/**
 * Start, change and finish of what goes on along the pipe. The number pairs them; nobody has to remember it.
 */
import { h, refill } from '../../ui/elements.js';
import { segments } from './field_frame.js';
import { continuousItems, nextNumber } from '../../survey/coding/continuous.js';
import { metres } from '../../ui/format.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../survey/coding/continuous.js').ContinuousItem} Item */
/** @typedef {import('../../records/types.js').Continuous} Continuous */
/** @typedef {import('../../records/types.js').ContinuousRole} ContinuousRole */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */

/**
 * @param {ObservationRecord[]} observations of the run
 * @param {string} ownId
 * @param {() => void} changed
 * @param {{title: (code: string) => string, picked: (item: Item) => void}} about `picked`: one of another
 *   code was chosen to finish or change
 */
export function continuousField(observations, ownId, changed, about) {
  const others = observations.filter((one) => one.id !== ownId);
  const open = continuousItems(others, null).items.filter((one) => one.open);
  const free = nextNumber(others);
  /** @type {Continuous | null} */
  let value = null;
  let code = '';
  const rows = segments(
    t('continuous.label'),
    [
      { value: '', label: t('continuous.here_only') },
      { value: 'start', label: t('continuous.start_key') },
      { value: 'change', label: t('continuous.change_key') },
      { value: 'finish', label: t('continuous.finish_key') }
    ],
    choose
  );
  const more = h('div', { class: 'code-list' });
  const element = h(
    'fieldset',
    { class: 'field' },
    h('legend', null, t('continuous.label')),
    rows.element,
    more
  );
  const mine = () => open.filter((one) => one.code === code);

  /** @param {ContinuousRole | ''} role */
  function choose(role) {
    if (role === '') value = null;
    else if (role === 'start') value = { role, number: value?.role === 'start' ? value.number : free };
    else value = { role, number: (paired() ? value?.number : (mine()[0] ?? open[0])?.number) ?? free };
    show();
    changed();
  }
  const paired = () => value && value.role !== 'start' && mine().some((one) => one.number === value?.number);

  function show() {
    const ends = value?.role === 'finish' || value?.role === 'change';
    rows.show(value?.role ?? '');
    refill(
      more,
      value === null ? null : h('p', { class: 'field-help', role: 'status' }, words(value)),
      ...(ends ? picks() : [])
    );
  }
  /** @param {Continuous} chosen */
  function words({ role, number }) {
    if (role === 'start') return t('continuous.start', { n: number });
    const of = mine().find((one) => one.number === number);
    const part = role === 'finish' ? 'finish' : 'change';
    return of
      ? t(`continuous.${part}_of`, { n: number, code, m: metres(of.from_counter_m) })
      : t(`continuous.${part}_none`, { n: number, code });
  }
  /**
   * What still runs; nothing to choose where there is only the one that is meant.
   * @returns {Array<HTMLElement | null>}
   */
  function picks() {
    if (open.length === 0 || (open.length === 1 && paired())) return [];
    return [
      h('p', { class: 'field-help' }, t('continuous.open')),
      ...open.map((one) =>
        h(
          'button',
          {
            type: 'button',
            class: 'code-row',
            'aria-pressed': String(one.code === code && one.number === value?.number),
            'data-key': `open-${one.start_id}`,
            onclick: () => pick(one)
          },
          h('span', { class: 'code-letters' }, t('continuous.number', { n: one.number })),
          h(
            'span',
            null,
            t('continuous.pick', {
              code: one.code,
              title: about.title(one.code),
              m: metres(one.from_counter_m)
            })
          )
        )
      )
    ];
  }
  /** @param {Item} item */
  function pick(item) {
    value = { role: /** @type {Continuous} */ (value).role, number: item.number };
    if (item.code !== code) about.picked(item);
    show();
    changed();
  }
  show();
  return {
    element,
    get: () => value,
    /** @param {Continuous | null | undefined} wanted */
    set(wanted) {
      value = wanted ?? null;
      show();
    },
    /** @param {string} wanted */
    setCode(wanted) {
      code = wanted;
      show();
    }
  };
}
