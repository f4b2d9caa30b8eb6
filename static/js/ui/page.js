/** The frame of every screen: top band with the state of sending, heading, content, keys at the bottom. */
import { h, refill } from './elements.js';
import { dockRoom } from './dock_room.js';
import { icon } from './icons.js';
import { statusChip } from './status_chip.js';
import { t } from '../text/words.js';
import { apart, listed } from './format.js';

/** @typedef {import('./types.js').App} App */

/**
 * @typedef {object} Page
 * @property {HTMLElement} main
 * @property {(head: {title: string, eyebrow?: string, back?: string, aside?: Node | null, small?: boolean})
 *   => void} head
 * @property {(...nodes: Array<Node | null | false>) => void} body
 * @property {(...nodes: Array<Node | null | false>) => void} bar
 * @property {(...nodes: Array<Node | null | false>) => void} dock in place of the bar: the number pad and its
 *   keys
 * @property {() => void} dockTaken the dock has another height now: what is scrolled to stops above it
 * @property {() => void} focus
 * @property {() => void} stop
 */

/** @param {App} app @param {HTMLElement} root @returns {Page} */
export function makePage(app, root) {
  const backPlace = h('div', { class: 'top-back' });
  const eyebrow = h('p', { class: 'top-eyebrow' });
  const chip = statusChip(app);
  const heading = h('h1', { tabindex: '-1', id: 'heading' });
  const asidePlace = h('div', { class: 'head-aside' });
  const over = h('div', { class: 'top-words' }, eyebrow);
  const top = h('header', { class: 'top' }, backPlace, over, chip.element);
  const head = h('div', { class: 'head' }, heading, asidePlace);
  const body = h('div', { class: 'body' });
  const bar = h('div', { class: 'bar', hidden: true });
  const room = dockRoom(bar);
  const main = h('main', { id: 'main', class: 'main' }, head, body, bar);
  const skip = h('a', { class: 'skip', href: '#main', onclick: skipTo(heading) }, t('page.skip'));
  root.replaceChildren(skip, top, main);

  return {
    main,
    head({ title, eyebrow: above = '', back, aside = null, small = false }) {
      document.title = apart([listed([title, above]), t('app.name')]);
      heading.textContent = title;
      eyebrow.textContent = above;
      head.classList.toggle('head-small', small);
      // Where every line counts, the heading stands in the band itself.
      if (small && heading.parentElement !== over) over.append(heading);
      refill(asidePlace, aside);
      refill(backPlace, back ? backLink(back) : mark());
    },
    body: (...nodes) => refill(body, ...nodes),
    bar(...nodes) {
      refill(bar, ...nodes);
      bar.hidden = nodes.every((one) => !one);
      bar.className = 'bar';
    },
    dock(...nodes) {
      refill(bar, ...nodes);
      bar.hidden = false;
      bar.className = 'dock';
      room.take();
    },
    dockTaken: room.take,
    focus: () => heading.focus({ preventScroll: true }),
    stop() {
      chip.stop();
      room.stop();
    }
  };
}

/** @param {string} href */
function backLink(href) {
  return h('a', { href, class: 'back', 'aria-label': t('page.back'), 'data-back': 'true' }, icon('back'));
}

/** Our mark: a pipe that falls, over a levelling staff. */
function mark() {
  return h('img', { src: '/static/icons/mark.svg', alt: '', class: 'mark', width: '36', height: '36' });
}

/** @param {HTMLElement} heading @returns {(event: Event) => void} */
function skipTo(heading) {
  return (event) => {
    event.preventDefault();
    heading.focus();
  };
}

const MAX_BESIDE = 4; // characters of a badge: a count

/**
 * A row that leads somewhere.
 * @param {string} href
 * @param {string} iconName
 * @param {string} title
 * @param {Node | string | null} under
 * @param {Node | string | null} [badge]
 */
export function linkRow(href, iconName, title, under, badge = null) {
  const below = shownIn(badge).length > MAX_BESIDE; // beside the text it would leave no room for it
  return h(
    'a',
    { class: `link-row ${iconName ? '' : 'no-icon'}`, href, 'data-key': href },
    iconName ? h('span', { class: 'row-icon' }, icon(iconName)) : null,
    h(
      'span',
      { class: 'row-text' },
      h('span', { class: 'row-title' }, title),
      under ? h('span', { class: 'row-under' }, under) : null,
      below ? h('span', { class: 'row-under' }, badge) : null
    ),
    badge && !below ? h('span', { class: 'row-badge' }, badge) : null,
    icon('on', 'row-on')
  );
}

/** What is seen of a badge; what only a screen reader says takes no room. @param {Node | string | null} badge */
function shownIn(badge) {
  if (!(badge instanceof Element)) return typeof badge === 'string' ? badge : '';
  const unseen = badge.querySelector('.unseen')?.textContent ?? '';
  return (badge.textContent ?? '').replace(unseen, '').trim();
}

/** A note in a box: what kind it is stands in its words, the colour only repeats it.
 * @param {'plain' | 'notice' | 'fault'} tone @param {...(Node | string | null | false)} children */
export function note(tone, ...children) {
  return h(
    'div',
    { class: `note note-${tone}` },
    tone === 'plain' ? null : icon('alert'),
    h('div', { class: 'stack-s' }, ...children)
  );
}

/** @param {string} title @param {...(Node | null | false | Array<Node | null>)} children */
export function section(title, ...children) {
  return h('section', { class: 'section' }, h('h2', null, title), ...children);
}

/**
 * @param {string} label
 * @param {{icon?: string, tone?: string, href?: string, type?: string, onclick?: (event: Event) => void,
 *   key?: string, describedby?: string}} [how]
 */
export function button(label, how = {}) {
  const props = {
    class: `button ${how.tone ?? ''}`,
    'data-key': how.key ?? label,
    'aria-describedby': how.describedby
  };
  const inside = [how.icon ? icon(how.icon) : null, h('span', null, label)];
  if (how.href) return h('a', { ...props, href: how.href }, ...inside);
  return h('button', { ...props, type: how.type ?? 'button', onclick: how.onclick }, ...inside);
}
