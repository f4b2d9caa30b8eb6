/** A key that opens the phone's file picker. */
import { h } from '../ui/elements.js';
import { icon } from '../ui/icons.js';

/**
 * @param {string} label
 * @param {string} iconName
 * @param {import('../ui/elements.js').Props} props of the input
 * @param {string} tone
 */
export function fileKey(label, iconName, props, tone) {
  const input = h('input', { type: 'file', 'aria-label': label, ...props });
  return {
    input,
    element: h(
      'label',
      { class: `button file-key ${tone}` },
      input,
      icon(iconName),
      h('span', { 'aria-hidden': 'true' }, label)
    )
  };
}
