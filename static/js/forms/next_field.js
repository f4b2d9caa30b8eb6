/** Brings the next question into sight, so that nobody has to scroll for it. The focus stays where it is. */

/** @typedef {import('../ui/types.js').Control} Control */
/** @typedef {import('../ui/clock_dial.js').Hours} Hours */

/**
 * A field with nothing in it yet, of those that mostly have something.
 * @param {Control} control
 * @returns {boolean}
 */
function unanswered(control) {
  if (control.spare?.()) return false;
  const raw = control.raw();
  return control.name === 'clock' ? /** @type {Hours} */ (raw).from === null : raw === '';
}

/**
 * @param {Map<string, Control>} controls in order
 * @param {string} after name of the field just answered; empty when the code was just chosen
 */
export function onward(controls, after) {
  const list = [...controls.values()];
  // What is only as last time is shown first, so that nobody saves it unseen.
  const next = list
    .slice(1 + list.findIndex((one) => one.name === after))
    .find((one) => unanswered(one) || (after === '' && one.carried?.()));
  if (!next) return;
  // Nobody is done with a window that has the focus, whatever stands in it by now.
  if (after !== '' && document.activeElement?.closest('.window')) return;
  const { top, bottom } = next.element.getBoundingClientRect();
  const head = document.querySelector('.top')?.getBoundingClientRect().bottom ?? 0;
  const keys = document.querySelector('.dock')?.getBoundingClientRect().top ?? innerHeight;
  if (after === '' || top < head || bottom > keys) next.element.scrollIntoView({ block: 'start' });
}
