/**
 * A press that loses its key. A screen drawn again between press and release puts a new key in the place of
 * the pressed one, and the browser then sends a mouse's click to neither. A finger's tap is not lost: the
 * browser looks again where it lifts.
 */
export function keepPresses() {
  /** @type {{element: Element, key: string} | null} */
  let pressed = null;
  document.addEventListener(
    'pointerdown',
    (event) => {
      const element = keyAt(event.target);
      pressed =
        element && event.pointerType === 'mouse' && event.button === 0
          ? { element, key: nameOf(element) }
          : null;
    },
    true
  );
  document.addEventListener(
    'pointerup',
    (event) => {
      const was = pressed;
      pressed = null;
      if (!was || was.element.isConnected) return;
      const now = keyAt(document.elementFromPoint(event.clientX, event.clientY));
      if (now && nameOf(now) === was.key) setTimeout(() => now.click(), 0);
    },
    true
  );
}

/** @param {EventTarget | null} target @returns {HTMLElement | null} */
function keyAt(target) {
  return target instanceof Element ? target.closest('a, button') : null;
}

/** @param {Element} element @returns {string} */
function nameOf(element) {
  return `${element.getAttribute('data-key') ?? ''} ${element.getAttribute('href') ?? ''} ${element.textContent ?? ''}`;
}
