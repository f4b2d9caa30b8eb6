/** Keys at the bottom, with the number pad above them while a window of the form has the focus. */
import { h, refill } from './elements.js';
import { numberPad } from './number_pad.js';

/** @typedef {{element: HTMLElement, input: HTMLInputElement}} PadWindow */

/** @param {import('./page.js').Page} page */
export function padDock(page) {
  const place = h('div', { class: 'dock-pad', hidden: true });
  /** @type {WeakSet<HTMLInputElement>} */
  const served = new WeakSet();
  return {
    /** @param {Array<Node | null>} keys */
    show(keys) {
      page.dock(place, h('div', { class: 'bar-keys' }, ...keys));
    },
    /** @param {PadWindow} window */
    serve(window) {
      if (served.has(window.input)) return;
      served.add(window.input);
      const pad = numberPad([window]).element;
      const inSight = () => {
        page.dockTaken();
        window.element.scrollIntoView({ block: 'nearest' });
      };
      window.element.classList.remove('active');
      window.input.addEventListener('focus', () => {
        refill(place, pad);
        place.hidden = false;
        // The pad has taken half of the screen: what is typed into stays in sight.
        setTimeout(inSight, 0);
      });
      window.input.addEventListener('blur', () => {
        place.hidden = true;
        window.element.classList.remove('active');
      });
    }
  };
}
