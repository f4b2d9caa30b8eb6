/** Parts of a long list that are drawn when they come into view. */

const AHEAD = '400px'; // above and below

export class WhenSeen {
  /** @type {Map<Element, () => HTMLElement>} */
  #waiting = new Map();
  #watch = new IntersectionObserver(
    (seen) => {
      for (const { isIntersecting, target } of seen) if (isIntersecting) this.#fill(target);
    },
    { rootMargin: AHEAD }
  );

  /**
   * @param {HTMLElement} element what stands there until then @param {() => HTMLElement} whole
   * @returns {HTMLElement} the same element
   */
  add(element, whole) {
    this.#waiting.set(element, whole);
    this.#watch.observe(element);
    return element;
  }

  /** @param {Element} element */
  #fill(element) {
    const whole = this.#waiting.get(element);
    this.#watch.unobserve(element);
    this.#waiting.delete(element);
    if (!whole || !element.isConnected) return;
    const had = document.activeElement === element;
    const next = whole();
    element.replaceWith(next);
    if (had) next.focus({ preventScroll: true });
  }

  /** The list is drawn again, or gone. */
  forget() {
    this.#watch.disconnect();
    this.#waiting.clear();
  }
}
