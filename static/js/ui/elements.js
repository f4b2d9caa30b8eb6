/** Elements without HTML strings: h() for HTML, s() for SVG. */

const SVG = 'http://www.w3.org/2000/svg';
const AS_PROPERTY = new Set([
  'value',
  'checked',
  'disabled',
  'hidden',
  'selected',
  'readOnly',
  'multiple',
  'open',
  'indeterminate'
]);

/** @typedef {Node | string | number | null | undefined | false} Child */
/** @typedef {string | number | boolean | null | undefined | ((event: never) => unknown)} Prop */
/** @typedef {Object<string, Prop>} Props */

/**
 * Makes an element. `on…` props are listeners, `class` is a class list, null and false leave an attribute
 * out.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Props | null} [props]
 * @param {...(Child | Child[])} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function h(tag, props, ...children) {
  const element = document.createElement(tag);
  apply(element, props ?? {});
  append(element, children);
  return element;
}

/**
 * Makes an SVG element.
 * @param {string} tag @param {Props | null} [props] @param {...(Child | Child[])} children
 * @returns {SVGElement}
 */
export function s(tag, props, ...children) {
  const element = /** @type {SVGElement} */ (document.createElementNS(SVG, tag));
  apply(element, props ?? {});
  append(element, children);
  return element;
}

/** @param {Element} element @param {Props} props */
function apply(element, props) {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined) continue;
    if (name.startsWith('on') && typeof value === 'function')
      element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else if (AS_PROPERTY.has(name)) /** @type {Element & Props} */ (element)[name] = value;
    else if (value === false) continue;
    else element.setAttribute(name, value === true ? '' : String(value));
  }
}

/** @param {Element} parent @param {Array<Child | Child[]>} children */
export function append(parent, children) {
  for (const child of children.flat()) {
    if (child === null || child === undefined || child === false) continue;
    parent.append(child instanceof Node ? child : String(child));
  }
}

/** Puts new children in, and gives the focus back to what had it, found by id or data-key.
 * @param {Element} parent @param {...(Child | Child[])} children */
export function refill(parent, ...children) {
  const focused = parent.contains(document.activeElement)
    ? /** @type {HTMLElement} */ (document.activeElement)
    : null;
  const key = focused?.id || focused?.dataset.key;
  parent.replaceChildren();
  append(parent, children);
  if (!key) return;
  const again = [...parent.querySelectorAll('[id],[data-key]')].find(
    (one) => one.id === key || /** @type {HTMLElement} */ (one).dataset.key === key
  );
  if (again) /** @type {HTMLElement} */ (again).focus({ preventScroll: true });
}

let counter = 0;

/** A name for label/for and aria references, new at each call. @param {string} stem @returns {string} */
export function uid(stem) {
  counter += 1;
  return `${stem}-${counter}`;
}
