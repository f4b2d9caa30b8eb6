/**
 * In which part of a counter that was reset a place was read. Of use, and shown, only where there was a
 * reset.
 */
import { h } from '../../ui/elements.js';
import { metres } from '../../ui/format.js';
import { counterParts } from '../../survey/instruments/counter_resets.js';
import { selectControl } from './fields_plain.js';
import { t } from '../../text/words.js';

/** @typedef {import('../../ui/types.js').Field} Field */
/** @typedef {import('../../ui/types.js').JobView} JobView */

/**
 * @param {Field} field
 * @param {() => void} changed
 * @param {{view: JobView | null, runId?: string | null}} about
 * @returns {import('../../ui/types.js').Control<number, string>}
 */
export function partControl(field, changed, { view, runId }) {
  const readings = (runId && view?.ofRun('reading', runId)) || [];
  const parts = counterParts(readings);
  const choices = parts.map((_, k) => ({ value: String(k + 1), label: partWords(parts, k) }));
  const control = selectControl({ ...field, choices }, changed);
  const first = control.element.querySelector('option');
  if (first) first.textContent = t('part.by_order');
  const shown = parts.length > 1;
  return {
    ...control,
    element: shown ? control.element : h('div', { hidden: true }, control.element),
    setValue: (value) => control.setValue(value === null || value === undefined ? '' : String(value)),
    read: () => ({ value: control.raw() === '' ? null : Number(control.raw()) })
  };
}

/** @param {import('../../survey/instruments/counter_resets.js').CounterPart[]} parts @param {number} k */
function partWords(parts, k) {
  const { to_m: to } = parts[k];
  if (k === 0) return t('part.first', { m: to === null ? '' : metres(to) });
  return to === null ? t('part.last', { n: k + 1 }) : t('part.between', { n: k + 1, m: metres(to) });
}
